"""What a sheet looks up in another: by a number that both have, the cell that stands beside it there."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from pipeline.errors import few_of
from pipeline.ingest.declared.look_ups import files_of, where_it_is
from pipeline.ingest.declared.mapping import MAPPED_FORMS, LookUp, RecordMap, SheetMap, Source, folded
from pipeline.ingest.files.headers import Unreadable, why_refused
from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.sheet.body import TableCells
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.grids import read_grids
from pipeline.ingest.matching.sheet.headings import Heads, find_heads
from pipeline.ingest.records import INSTALLS

_MOST_TOLD = 4


@dataclass(frozen=True)
class LookedUp:
    """What stands beside numbers in another sheet.

    texts    for each number, "" where nothing stands there
    wanting  at which numbers that is so, and why; notes: files that it was to be looked up in and was not
    """

    texts: list[str]
    wanting: list[str]
    notes: list[str]


@dataclass(frozen=True)
class _Table:
    """beside: by number, what stands beside it; None where that is two things. without: files that lack a heading."""

    beside: dict[str, str | None]
    without: list[Path] = field(default_factory=list)


class FilesBeside:
    """The sheets of the files of one folder that something is looked up in, kept for all files that do."""

    def __init__(self) -> None:
        self._grids: dict[Path, list[Grid]] = {}
        self._cells: dict[tuple[int, Heads, str], TableCells] = {}
        self.tables: dict[tuple[LookUp, bool], _Table] = {}

    def grids(self, path: Path) -> list[Grid]:
        """The sheets of a file. Raises Unreadable, OSError."""
        if path not in self._grids:
            self._grids[path] = read_grids(path)
        return self._grids[path]

    def cells(self, grid: Grid, heads: Heads, wanted: SheetMap) -> TableCells:
        """The cells of one of these sheets, whose rows are gone through once for all that is looked up by a number."""
        number = wanted.records[0].columns[0][1].heading or ""
        return self._cells.setdefault((id(grid), heads, number), TableCells(grid, heads, wanted))


class OtherSheets:
    """The sheets of a file and of those beside it, in which its tables look something up. What was read is kept.

    path   the file that looks something up; grids: its sheets
    """

    def __init__(self, path: Path, grids: list[Grid], beside: FilesBeside | None = None) -> None:
        self._path, self._grids = path, grids
        self._beside = beside or FilesBeside()
        self._own: dict[tuple[LookUp, bool], _Table] = {}

    def find(self, name: str, look_up: LookUp, numbers: list[str], is_day: bool) -> LookedUp:
        """What stands beside each number.

        name    the column of the record that it becomes
        is_day  days are written as days

        Raises Unreadable where the other file or sheet, or a heading of it, is not there.
        """
        table = self._table(name, look_up, is_day)
        keys = {text: _key(text) for text in numbers}
        absent = [text for text, key in keys.items() if key and key not in table.beside]
        double = [text for text, key in keys.items() if table.beside.get(key, "") is None]
        told = [f"is {few_of(absent, _MOST_TOLD)}, which {where_it_is(look_up)} does not have"] if absent else []
        if double:
            told.append(f"is {few_of(double, _MOST_TOLD)}, of which {where_it_is(look_up)} says two things")
        others = [path.name for path in table.without if path != self._path]
        notes = [f"nothing is looked up in {file}, where no table has {_headings(look_up)}" for file in others]
        return LookedUp([table.beside.get(keys[text]) or "" for text in numbers], told, notes)

    def has_table(self, grid: Grid, look_ups: Iterable[LookUp]) -> bool:
        """Whether something is looked up in a sheet of the file itself."""
        wanted = (_wanted(one) for one in look_ups if not one.file)
        return any(one.has_sheet(grid.name) and not find_heads(grid, one)[1] for one in wanted)

    def _table(self, name: str, look_up: LookUp, is_day: bool) -> _Table:
        kept = self._beside.tables if look_up.file else self._own
        if (look_up, is_day) not in kept:
            files = self._files(name, look_up)
            found = _Table({}, [path for path, tables in files.items() if not tables])
            for cells in (one for tables in files.values() for one in tables):
                texts = zip(cells.texts(look_up.there), cells.texts(look_up.column, is_day), strict=True)
                _take_in(found.beside, texts)
            kept[look_up, is_day] = found
        return kept[look_up, is_day]

    def _files(self, name: str, look_up: LookUp) -> dict[Path, list[TableCells]]:
        """The cells of every sheet that has both headings, by file."""
        paths = files_of(look_up, self._path.parent) if look_up.file else [self._path]
        found = {path: self._cells(name, look_up, path) for path in paths}
        if not any(found.values()):
            lack = _lack(look_up, is_there=bool(paths))
            raise Unreadable(
                f"{name} is looked up in {where_it_is(look_up)}, {lack}; correct look_up, by, in and sheet in its "
                "[[sheet]] table in fitback.toml"
            )
        return found

    def _cells(self, name: str, look_up: LookUp, path: Path) -> list[TableCells]:
        wanted, is_own = _wanted(look_up), path == self._path
        try:
            grids = self._grids if is_own else self._beside.grids(path)
        except (Unreadable, OSError) as error:
            raise Unreadable(
                f"{name} is looked up in {path.name}, which cannot be used: {why_refused(error)}"
            ) from None
        found = [(grid, *find_heads(grid, wanted)) for grid in grids if wanted.has_sheet(grid.name)]
        return [
            TableCells(grid, heads, wanted) if is_own else self._beside.cells(grid, heads, wanted)
            for grid, heads, missing in found
            if not missing
        ]


def not_found(looked_up: Iterable[tuple[str, str, LookedUp]]) -> list[str]:
    """What is told of files that nothing was looked up in, and of columns that are empty for want of it.

    looked_up  (the column, the heading of its numbers as written, what was found)
    """
    notes, empty = dict[str, None](), dict[str, list[str]]()
    for name, heading, found in looked_up:
        notes |= dict.fromkeys(found.notes)
        for where in found.wanting:
            empty.setdefault(f"'{heading}' {where}", []).append(name)
    are_empty = (
        f"{', '.join(names)} {'is' if len(names) == 1 else 'are'} empty where {where}" for where, names in empty.items()
    )
    return [*notes, *are_empty]


def _wanted(look_up: LookUp) -> SheetMap:
    """The table that the other sheet has to hold: as one of doors, whose number is that of the job or customer."""
    key, value = INSTALLS.key[0], INSTALLS.required[-1]
    columns = ((key, Source(heading=look_up.there)), (value, Source(heading=look_up.column)))
    return SheetMap("*", (RecordMap(INSTALLS.name, columns),), look_up.sheet, header_rows=look_up.header_rows)


def _take_in(found: dict[str, str | None], texts: Iterable[tuple[str, str]]) -> None:
    """Adds (number, what stands beside it); a blank says nothing, and two different texts contradict one another."""
    for number, text in texts:
        if key := _key(number):
            before = found.get(key, "")
            is_same = before is not None and (not text or folded(before) == folded(text))
            found[key] = text if before == "" else before if is_same else None


def _headings(look_up: LookUp) -> str:
    return f"the headings '{look_up.there}' and '{look_up.column}'"


def _lack(look_up: LookUp, *, is_there: bool) -> str:
    """What is wanting of all that something is looked up in."""
    if look_up.file and not is_there:
        return f"and no file of that name ({', '.join(MAPPED_FORMS)}) stands beside it"
    return f"where no table has {_headings(look_up)}"


def _key(text: str) -> str:
    """A number by which rows of two sheets are one, however it is typed."""
    return " ".join(typed_number(text).split()).casefold()
