"""Reads a firm's own sheets by their mapping: finds each header again, refuses one that changed, makes the rows."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from functools import cache, partial
from pathlib import Path

import polars as pl

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import SheetMap
from pipeline.ingest.files.headers import Header, Unreadable
from pipeline.ingest.files.sheets import Part, Sheet
from pipeline.ingest.matching.forms.foot import footed
from pipeline.ingest.matching.forms.form import FormCells
from pipeline.ingest.matching.forms.form_or_list import is_form_sized
from pipeline.ingest.matching.forms.redrawn import NOT_FILLED_IN, is_not_filled_in, may_lack
from pipeline.ingest.matching.forms.stacked import beginning, read_forms
from pipeline.ingest.matching.mapped.days_of_file import days_in
from pipeline.ingest.matching.mapped.unread_headings import unread_of
from pipeline.ingest.matching.sheet.blocks import MOST_BLOCKS, blocks_of, table_under
from pipeline.ingest.matching.sheet.body import TableCells
from pipeline.ingest.matching.sheet.found import Found
from pipeline.ingest.matching.sheet.grid import Area, Grid
from pipeline.ingest.matching.sheet.grids import read_grids
from pipeline.ingest.matching.sheet.headings import MOST_MISSING, changed, find_heads
from pipeline.ingest.matching.sheet.other_sheets import FilesBeside, OtherSheets
from pipeline.ingest.matching.sheet.rows import mapped_rows
from pipeline.ingest.records import DAY, RECORDS, Record
from pipeline.ingest.texts.years_said import year_said

_MOST_SHEETS_TOLD = 6


class OwnSheets:
    """Reads files; keeps the last one open, since one file makes several records."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._path: Path | None = None
        self._grids: list[Grid] = []
        self._found: dict[tuple[SheetMap, ...], list[Found]] = {}
        self._files_beside = FilesBeside()

    def read(
        self, record: Record, path: Path, sheet_maps: tuple[SheetMap, ...], others: tuple[SheetMap, ...] = ()
    ) -> list[Sheet]:
        """The sheets of a file that hold the record. Raises Unreadable where none does, or a heading has changed.

        others  tables that make other records of the file
        """
        if path != self._path:
            self._path, self._grids, self._found = None, [], {}
            self._grids = read_grids(path)
            self._path = path
        if sheet_maps not in self._found:
            beside = OtherSheets(path, self._grids, self._files_beside)
            found = [replace(one, others=beside) for grid in self._grids for one in find_maps(grid, sheet_maps)]
            self._found = {sheet_maps: found}
        if not self._found[sheet_maps]:
            is_empty = any(is_not_filled_in(grid, sheet_maps) for grid in self._grids)
            raise Unreadable(
                f"{NOT_FILLED_IN}; fill it in, or take it away" if is_empty else _nothing(self._grids, sheet_maps)
            )
        sheets = [sheet for one in self._found[sheet_maps] if (sheet := self._sheet(record, one)) is not None]
        sheets = _with_days_of_all(sheets)
        if len(self._grids) > 1:
            # looked for once, however many sheets ask
            days = cache(partial(_days_of_file, tuple(self._grids), (*sheet_maps, *others)))
            sheets = [replace(sheet, beside=days) for sheet in sheets]
        if sheets and record.name == _first_record((*sheet_maps, *others)):
            sheets[0] = replace(sheets[0], notes=(*sheets[0].notes, *self._not_read(sheet_maps, others)))
        return sheets

    def _not_read(self, sheet_maps: tuple[SheetMap, ...], others: tuple[SheetMap, ...]) -> list[str]:
        """A sentence on the sheets that no table of the mapping reads."""
        read = {one.grid.name for one in self._found[sheet_maps]}
        filled = [one for one in self._grids if one.name and one.name not in read and any(map(any, one.texts))]
        look_ups = [look_up for one in (*sheet_maps, *others) for look_up in one.look_ups]
        beside = self._found[sheet_maps][0].others
        assert beside is not None
        left = [str(one.name) for one in filled if not (_is_read(one, others) or beside.has_table(one, look_ups))]
        empty = [str(one.name) for one in filled if is_not_filled_in(one, (*sheet_maps, *others))]
        left = [name for name in left if name not in empty]
        # what is to be told of the whole file stands with its first sheet
        told = [note for one in self._grids if one.name not in read for note in one.notes]
        told += [f"sheet {', '.join(empty)} not read: {NOT_FILLED_IN}"] if empty else []
        if not left:
            return told
        of = ", ".join(left[:_MOST_SHEETS_TOLD]) + ("" if len(left) <= _MOST_SHEETS_TOLD else " and others")
        return [*told, f"sheet {of} not read: no [[sheet]] table of fitback.toml has its headings"]

    def _sheet(self, record: Record, found: Found) -> Sheet | None:
        record_map = found.sheet_map.map_of(record.name)
        if record_map is None:
            return None
        made = mapped_rows(found, record_map, self._catalogue)
        is_first = record_map is found.sheet_map.records[0]
        notes = [*((*found.grid.notes, *found.notes, *found.cells.notes()) if is_first else ()), *made.all_notes]
        where = f"sheet {found.grid.name}: " if found.grid.name else ""
        told = tuple(note if note in found.grid.notes else f"{where}{note}" for note in notes)
        kept = {column.name for column in record.columns}
        places = {name: place for place, name in enumerate(made.rows.columns) if name in kept}
        header = Header(places, 0, (), made.units, turned=made.turned)
        names = [name for name in header.places if record.column(name).kind == DAY]
        days = made.rows.select(names) if (found.sheet_map.form or found.sheet_map.at_foot) and names else None
        unread = unread_of(found) if is_first else ()
        return Sheet(
            _named(found),
            header,
            _parts(Part(made.rows)),
            told,
            made.headings,
            unread,
            days,
            year_of(found, self._path.stem if self._path else ""),
        )


def _days_of_file(grids: tuple[Grid, ...], sheet_maps: tuple[SheetMap, ...]) -> frozenset[str]:
    """The days of all sheets of a file that can be read."""
    found: list[Found] = []
    for grid in grids:
        with suppress(Unreadable):
            found += find_maps(grid, sheet_maps)
    return days_in(found)


def year_of(found: Found, file: str) -> int | None:
    """The one year that the name of the file (without its ending), of the sheet and what stands over the table say."""
    over = found.grid.texts[: found.cells.heads.row] if isinstance(found.cells, TableCells) else []
    return year_said([file, found.grid.name, *(text for row in over for text in row)])


def _named(found: Found) -> str | None:
    """The sheet, and the column where a form begins that stands beside another: their rows have the same numbers."""
    if not found.sheet_map.begins_with or not (where := beginning(found.grid)):
        return found.grid.name
    return ", ".join(filter(None, [found.grid.name, where]))


def _first_record(sheet_maps: tuple[SheetMap, ...]) -> str:
    """The record, first in their order, that tables make: with it is told what concerns the whole file."""
    return next(record.name for record in RECORDS if any(one.map_of(record.name) for one in sheet_maps))


def _is_read(grid: Grid, sheet_maps: tuple[SheetMap, ...]) -> bool:
    """Whether tables read a sheet, or refuse it for a heading, which is told in its place."""
    try:
        return bool(find_maps(grid, sheet_maps))
    except Unreadable:
        return True


def _with_days_of_all(sheets: list[Sheet]) -> list[Sheet]:
    """The sheets of a file, each form with the different days of all its forms in place of its own."""
    days = [sheet.days for sheet in sheets if sheet.days is not None]
    if not days:
        return sheets
    together = pl.concat(days, how="diagonal").unique(maintain_order=True)
    return [sheet if sheet.days is None else replace(sheet, days=together) for sheet in sheets]


def find_maps(grid: Grid, sheet_maps: tuple[SheetMap, ...]) -> list[Found]:
    """The [[sheet]] table that reads a grid, or those that read its several tables; none where it is another sheet.

    Raises Unreadable where a table is there but for a heading.
    """
    tables = tuple(one for one in sheet_maps if one.is_part and one.has_sheet(grid.name))
    found, lacking = _tables(grid, tables) if tables else ([], None)
    if found and lacking is None:
        return found
    feet = tuple(one for one in sheet_maps if one.at_foot and one.has_sheet(grid.name))
    stacked = (one for one in sheet_maps if one.begins_with and one.has_sheet(grid.name))
    for each in stacked:
        if forms := read_forms(grid, each, _optional(each), feet):
            return forms
    plain = tuple(one for one in sheet_maps if not (one.is_part or one.begins_with or one.at_foot))
    if feet:
        form, gone = _form(grid, [one for one in plain if one.form and one.has_sheet(grid.name)], feet)
        if form:
            return form
        lacking = lacking or gone
    if plain and (one := find_map(grid, plain)) is not None:
        return [one]
    if lacking is not None:
        raise lacking
    return []


def _tables(grid: Grid, tables: tuple[SheetMap, ...]) -> tuple[list[Found], Unreadable | None]:
    """The tables of a sheet with what reads each; the refusal where one is wanting of which most is there."""
    areas = blocks_of(grid)[:MOST_BLOCKS]
    tried = {(area, one): find_heads(grid.part(area), one)[1] for area in areas for one in tables}
    readers: dict[Area, SheetMap] = {}
    for area in areas:
        fitting = [one for one in tables if not tried[area, one]]
        if fitting:
            readers[area] = max(fitting, key=lambda one: len(one.headings))
    found = [_read_as_table(table_under(grid, area, list(readers)), one) for area, one in readers.items()]
    for one in tables:
        nearest = min((tried[area, one] for area in areas), key=len, default=list(one.headings))
        is_near = len(nearest) <= MOST_MISSING * len(one.headings)
        if one not in readers.values() and (found or is_near):
            area = min(areas, key=lambda area: len(tried[area, one]))
            there = find_heads(grid.part(area), one)[0].written
            return found, changed(grid, there if is_near else (), nearest, one)
    return found, None


def _read_as_table(grid: Grid, sheet_map: SheetMap) -> Found:
    heads, _ = find_heads(grid, sheet_map)
    return Found(grid, sheet_map, TableCells(grid, heads, sheet_map), _notes(sheet_map))


def _notes(sheet_map: SheetMap) -> tuple[str, ...]:
    told = "its records stand side by side: where a row is told, it is the column, counted from the left"
    return (told,) if sheet_map.across else ()


def find_map(grid: Grid, sheet_maps: tuple[SheetMap, ...]) -> Found | None:
    """The [[sheet]] table that reads a grid: of those whose headings are all there, the one with the most.

    Raises Unreadable where the nearest table lacks a heading; None where the grid is another sheet altogether.
    """
    forms = [one for one in sheet_maps if one.form and one.has_sheet(grid.name)]
    found, lacking = _form(grid, forms)
    if found:
        return found[0]
    if lacking is not None:
        raise lacking
    turned = grid.turned() if any(one.across for one in sheet_maps) else grid
    tables = [one for one in sheet_maps if one.has_sheet(grid.name) and not one.form]
    tried = [(one, *find_heads(turned if one.across else grid, one)) for one in tables]
    tried.sort(key=lambda one: (len(one[2]) - len(one[0].headings), len(one[2])))
    if not tried:
        return None
    sheet_map, heads, missing = tried[0]
    if len(missing) > MOST_MISSING * len(sheet_map.headings):
        return None
    if missing:
        raise changed(grid, heads.written, missing, sheet_map)
    grid = turned if sheet_map.across else grid
    return Found(grid, sheet_map, TableCells(grid, heads, sheet_map), _notes(sheet_map))


def _form(grid: Grid, forms: list[SheetMap], feet: tuple[SheetMap, ...] = ()) -> tuple[list[Found], Unreadable | None]:
    """A form, by the table that has most of the labels that are there, and its foot; the refusal by the nearest table.

    Leaves after the first may be absent, for doors differ. Nothing is found where the sheet is no such form.
    """
    if not forms or not is_form_sized(grid):
        return [], None
    parts = footed(grid, feet)
    cells = FormCells(parts.form)
    wanted = {one: [name for name in one.headings if name not in _optional(one)] for one in forms}
    gone = {one: [name for name in names if cells.at(name) is None] for one, names in wanted.items()}
    if fitting := [one for one in forms if not gone[one]]:
        best = max(fitting, key=lambda one: sum(cells.at(name) is not None for name in one.headings))
        is_blank = is_not_filled_in(parts.form, (best,))
        return [] if is_blank else [Found(parts.form, best, cells, ()), *parts.found(cells)], None
    # a door of few leaves lacks most of the labels of one with many, and its form is no other sheet for that
    near = [one for one in forms if len(gone[one]) <= MOST_MISSING * len(wanted[one])]
    if not near or is_not_filled_in(parts.form, tuple(near)):
        return [], None
    nearest = min(near, key=lambda one: len(gone[one]))
    return [], changed(grid, cells.labels, gone[nearest], nearest)


def _optional(sheet_map: SheetMap) -> set[str]:
    """The labels of a form that that of a smaller door lacks."""
    return may_lack(sheet_map.headings, (one for each in sheet_map.records for one in each.each))


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
