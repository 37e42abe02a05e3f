"""What a sheet looks up in another: by a number that both have, the cell that stands beside it there."""

from collections.abc import Iterator
from fnmatch import fnmatch
from pathlib import Path

from pipeline.errors import few_of
from pipeline.ingest.declared.mapping import LookUp, RecordMap, SheetMap, Source
from pipeline.ingest.files.headers import Unreadable
from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.sheet.body import TableCells
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.grids import read_grids
from pipeline.ingest.matching.sheet.headings import find_heads
from pipeline.ingest.records import INSTALLS

_MOST_TOLD = 4


class OtherSheets:
    """The sheets of a file and of those beside it. What was read is kept.

    path   the file that looks something up; grids: its sheets
    """

    def __init__(self, path: Path, grids: list[Grid]) -> None:
        self._path = path
        self._grids = {path: grids}
        self._tables: dict[tuple[LookUp, bool], dict[str, str | None]] = {}

    def find(self, name: str, look_up: LookUp, numbers: list[str], is_day: bool) -> tuple[list[str], list[str]]:
        """(what stands beside each number, "" where nothing does; at which numbers that is so, and why).

        name    the column of the record that it becomes
        is_day  days are written as days

        Raises Unreadable where the other sheet, or a heading of it, is not there.
        """
        if (look_up, is_day) not in self._tables:
            self._tables[look_up, is_day] = self._table(name, look_up, is_day)
        table = self._tables[look_up, is_day]
        keys = [_key(text) for text in numbers]
        absent = dict.fromkeys(text for text, key in zip(numbers, keys, strict=True) if key and key not in table)
        double = dict.fromkeys(text for text, key in zip(numbers, keys, strict=True) if table.get(key, "") is None)
        told = [f"is {few_of(list(absent), _MOST_TOLD)}, which {_named(look_up)} does not have"] if absent else []
        if double:
            told.append(f"is {few_of(list(double), _MOST_TOLD)}, of which {_named(look_up)} says two things")
        return [table.get(key) or "" for key in keys], told

    def _table(self, name: str, look_up: LookUp, is_day: bool) -> dict[str, str | None]:
        """What stands beside each number; None where it comes twice with different cells."""
        found: dict[str, str | None] = {}
        for cells in self._cells(name, look_up):
            texts = zip(cells.texts(look_up.there), cells.texts(look_up.column, is_day), strict=True)
            for key, text in ((_key(number), text) for number, text in texts):
                if key:
                    found[key] = text if found.get(key, text) == text else None
        return found

    def _cells(self, name: str, look_up: LookUp) -> list[TableCells]:
        """The cells of every sheet that has both headings."""
        key, value = INSTALLS.key[0], INSTALLS.required[-1]
        columns = ((key, Source(heading=look_up.there)), (value, Source(heading=look_up.column)))
        wanted = SheetMap("*", (RecordMap(INSTALLS.name, columns),), look_up.sheet, header_rows=look_up.header_rows)
        grids = [grid for grid in self._grids_of(look_up) if wanted.has_sheet(grid.name)]
        found = [(grid, *find_heads(grid, wanted)) for grid in grids]
        cells = [TableCells(grid, heads, wanted) for grid, heads, missing in found if not missing]
        if not cells:
            what = f"headings '{look_up.there}' and '{look_up.column}'" if grids else "such sheet"
            raise Unreadable(
                f"{name} is looked up in {_named(look_up)}, which has no {what}; correct look_up, by, in and sheet in "
                "its [[sheet]] table in fitback.toml"
            )
        return cells

    def _grids_of(self, look_up: LookUp) -> Iterator[Grid]:
        for path in self._files(look_up):
            if path not in self._grids:
                self._grids[path] = read_grids(path)
            yield from self._grids[path]

    def _files(self, look_up: LookUp) -> list[Path]:
        if not look_up.file:
            return [self._path]
        pattern = look_up.file.casefold().strip()
        return sorted(path for path in self._path.parent.iterdir() if fnmatch(path.name.casefold(), pattern))


def _key(text: str) -> str:
    """A number by which rows of two sheets are one, however it is typed."""
    return " ".join(typed_number(text).split()).casefold()


def _named(look_up: LookUp) -> str:
    sheet = f"sheet {look_up.sheet}" if look_up.sheet != "*" else ""
    return " of ".join(filter(None, [sheet, look_up.file])) or "its own file"
