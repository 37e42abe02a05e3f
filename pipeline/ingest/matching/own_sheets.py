"""Reads a firm's own sheets by their mapping: finds each header again, refuses one that changed, makes the rows."""

import re
from collections.abc import Iterator
from pathlib import Path

from pipeline.catalogue import Catalogue
from pipeline.ingest.headers import Header, Unreadable
from pipeline.ingest.matching.body import TableCells
from pipeline.ingest.matching.form import FormCells, is_form_sized
from pipeline.ingest.matching.found import Found
from pipeline.ingest.matching.grid import Grid, read_grids
from pipeline.ingest.matching.headings import changed, find_heads
from pipeline.ingest.matching.mapping import Each, SheetMap, folded
from pipeline.ingest.matching.rows import mapped_rows
from pipeline.ingest.records import Record
from pipeline.ingest.sheets import Part, Sheet

# A sheet that lacks more of a mapping's headings than this is taken to be another sheet, not a changed one.
MOST_MISSING = 0.5
_LATER_LEAF = re.compile(r"leaf_(?!1$)")


class OwnSheets:
    """Reads files; keeps the last one open, since one file makes several records."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._path: Path | None = None
        self._grids: list[Grid] = []
        self._found: dict[tuple[SheetMap, ...], list[Found]] = {}

    def read(self, record: Record, path: Path, sheet_maps: tuple[SheetMap, ...]) -> list[Sheet]:
        """The sheets of a file that hold the record. Raises Unreadable where none does, or a heading has changed."""
        if path != self._path:
            self._path, self._grids, self._found = None, [], {}
            self._grids = read_grids(path)
            self._path = path
        if sheet_maps not in self._found:
            found = [one for grid in self._grids if (one := find_map(grid, sheet_maps)) is not None]
            self._found = {sheet_maps: found}
        if not self._found[sheet_maps]:
            raise Unreadable(_nothing(self._grids, sheet_maps))
        return [sheet for one in self._found[sheet_maps] if (sheet := self._sheet(record, one)) is not None]

    def _sheet(self, record: Record, found: Found) -> Sheet | None:
        record_map = found.sheet_map.map_of(record.name)
        if record_map is None:
            return None
        made = mapped_rows(found, record_map, self._catalogue)
        is_first = record_map is found.sheet_map.records[0]
        notes = [*((*found.grid.notes, *found.notes, *found.cells.notes()) if is_first else ()), *made.notes]
        where = f"sheet {found.grid.name}: " if found.grid.name else ""
        told = tuple(note if note in found.grid.notes else f"{where}{note}" for note in notes)
        header = Header(
            {name: place for place, name in enumerate(made.rows.columns) if name != "row"}, 0, (), made.units
        )
        return Sheet(found.grid.name, header, _parts(Part(made.rows)), told, made.headings)


def find_map(grid: Grid, sheet_maps: tuple[SheetMap, ...]) -> Found | None:
    """The [[sheet]] table that reads a grid: of those whose headings are all there, the one with the most.

    Raises Unreadable where the nearest table lacks a heading; None where the grid is another sheet altogether.
    """
    forms = [one for one in sheet_maps if one.form and one.has_sheet(grid.name)]
    if found := next((found for one in forms if (found := _form(grid, one)) is not None), None):
        return found
    tried = [(one, *find_heads(grid, one)) for one in sheet_maps if one.has_sheet(grid.name) and not one.form]
    tried.sort(key=lambda one: (len(one[2]) - len(one[0].headings), len(one[2])))
    if not tried:
        return None
    sheet_map, heads, missing = tried[0]
    if len(missing) > MOST_MISSING * len(sheet_map.headings):
        return None
    if missing:
        raise changed(grid, heads.written, missing, sheet_map)
    cells = TableCells(grid, heads, sheet_map)
    known = {*sheet_map.headings, *sheet_map.ignore}
    new = [text for text in heads.written if text and folded(text) not in known]
    notes = [f"column {', '.join(repr(text) for text in new)} not read: the mapping does not know it"] if new else []
    return Found(grid, sheet_map, cells, tuple(notes))


def _form(grid: Grid, sheet_map: SheetMap) -> Found | None:
    """A form with its labels; None where the sheet is none. Leaves after the first may be absent, for doors differ."""
    if not is_form_sized(grid):
        return None
    cells = FormCells(grid)
    missing = [name for name in sheet_map.headings if cells.at(name) is None]
    if len(missing) > MOST_MISSING * len(sheet_map.headings):
        return None
    optional = {one.heading for each in sheet_map.records for one in each.each if _LATER_LEAF.match(_member(one))}
    wanted = [name for name in missing if name not in optional]
    if wanted:
        raise changed(grid, cells.labels, wanted, sheet_map)
    return Found(grid, sheet_map, cells, ())


def _member(one: Each) -> str:
    return dict(one.fixed).get("member", "")


def _nothing(grids: list[Grid], sheet_maps: tuple[SheetMap, ...]) -> str:
    names = ", ".join(grid.name for grid in grids if grid.name)
    of = f" ({names})" if names else ""
    wanted = sheet_maps[0].headings[:3]
    return (
        f"no sheet{of} has the headings {', '.join(wanted)} that fitback.toml names; "
        "correct its [[sheet]] table, or run fitback match on this file"
    )


def _parts(part: Part) -> Iterator[Part]:
    yield part
