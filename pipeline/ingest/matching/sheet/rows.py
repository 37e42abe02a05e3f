"""Makes canonical rows of text from the cells of a mapped sheet: wide becomes long, every value keeps its cell."""

from dataclasses import dataclass, field, replace

import polars as pl

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.look_ups import told_heading
from pipeline.ingest.declared.mapping import VALUE_COLUMNS, Each, RecordMap, Source, folded
from pipeline.ingest.files.headers import Unreadable
from pipeline.ingest.history.row_keys import row_key
from pipeline.ingest.judging.cells import cell_of, typed_number
from pipeline.ingest.judging.own_units import factor, own_unit
from pipeline.ingest.judging.sizes import sizes_of
from pipeline.ingest.matching.sheet.body import Cells
from pipeline.ingest.matching.sheet.found import Found
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.sheet.in_one_cell import read_in_cells
from pipeline.ingest.matching.sheet.made_numbers import numbers_of_rows
from pipeline.ingest.matching.sheet.name_and_address import part_of_person
from pipeline.ingest.matching.sheet.other_sheets import LookedUp, not_found
from pipeline.ingest.matching.sheet.places_apart import places_apart
from pipeline.ingest.matching.sheet.same_door import same_door
from pipeline.ingest.matching.sheet.several_calls import calls_apart, numbered, place_of, rows_of_calls
from pipeline.ingest.matching.sheet.two_in_one import part_of_cell
from pipeline.ingest.matching.sheet.unit_beside import unit_beside
from pipeline.ingest.records import DAY, INSTALLS, READINGS, Column, Record, record_named
from pipeline.ingest.texts.not_said import NOTHING
from pipeline.ingest.texts.words import MEMBERS, known_place

# A sheet has no more columns than so many bits can tell apart.
_PART_BITS = 16
_UNITS = {"mm": "mm, cm, m, in or ft", "kg": "kg, g or lb", "h": "h or min"}


@dataclass(frozen=True)
class MappedRows:
    """rows: `row` (key of the cell) and text columns of the record. headings: (place, column, heading).

    units   by column, the unit that the mapping says of it
    turned  keys of the rows whose number has the other sign
    n_nothing  cells of readings that hold what people write for nothing
    """

    rows: pl.DataFrame
    headings: tuple[tuple[int, str, str], ...]
    notes: tuple[str, ...] = ()
    units: dict[str, str] = field(default_factory=dict)
    turned: frozenset[int] = frozenset()
    n_nothing: int = 0

    @property
    def all_notes(self) -> tuple[str, ...]:
        """The notes, with what is to be told of cells that hold nothing."""
        return (*self.notes, *nothing_notes(self.n_nothing))


def mapped_rows(found: Found, record_map: RecordMap, catalogue: Catalogue) -> MappedRows:
    """The rows of one record that a sheet gives."""
    record = record_named(record_map.record)
    if record_map.groups:
        return _of_groups(found, record_map, (record, catalogue))
    return _made(found, record_map, (record, catalogue))


def _of_groups(found: Found, record_map: RecordMap, given: tuple[Record, Catalogue]) -> MappedRows:
    """The callbacks of all groups of columns, each call with its own key and headings."""
    parts, headings = [], []
    units: dict[str, str] = {}
    for number, one in enumerate(calls_apart(record_map)):
        made, place = _made(found, one, given), place_of(record_map, number, found.cells)
        own = tuple(name for name, source in record_map.groups[number] if source.headings)
        parts.append(rows_of_calls(made.rows, own, place))
        headings += [(place if name in own else 0, name, heading) for _, name, heading in made.headings]
        units |= made.units
    rows = pl.concat(parts, how="diagonal")
    is_made = any(source.from_row for _, source in record_map.columns)
    return MappedRows(numbered(given[0], rows) if is_made else rows, tuple(dict.fromkeys(headings)), units=units)


def _made(found: Found, record_map: RecordMap, given: tuple[Record, Catalogue]) -> MappedRows:
    maker = _Maker(found, record_map, *given)
    made = maker.make()
    made = replace(made, notes=(*made.notes, *not_found(maker.looked_up)))
    return replace(made, units=maker.column_units(), turned=maker.turned(made.rows))


@dataclass
class _Maker:
    found: Found
    record_map: RecordMap
    record: Record
    catalogue: Catalogue
    looked_up: list[tuple[str, str, LookedUp]] = field(default_factory=list)

    @property
    def cells(self) -> Cells:
        return self.found.cells

    def make(self) -> MappedRows:
        shared = {name: self._texts(name, source) for name, source in self.record_map.columns if not source.from_row}
        if made := [name for name, source in self.record_map.columns if source.from_row]:
            shared = {made[0]: numbers_of_rows(self.record, shared), **shared}
        headings = [
            (0, name, " + ".join(map(self.cells.written, (source.heading, *source.joined))))
            for name, source in self.record_map.columns
            if source.heading
        ]
        of_others = ((name, source.look_up) for name, source in self.record_map.columns if source.look_up)
        headings += [(0, name, told_heading(look_up)) for name, look_up in of_others]
        if self.record_map.items:
            return MappedRows(self._by_item(shared), tuple(headings))
        if self.record_map.each:
            return self._by_column(shared, headings)
        shared = places_apart(self.record_map, shared)
        rows = self._frame(shared, self._key_rows()).filter(pl.Series(self._is_there(), dtype=pl.Boolean))
        return MappedRows(same_door(rows) if self.record is INSTALLS else rows, tuple(headings))

    def _key_rows(self) -> list[int]:
        """The spreadsheet row of each record row: that of its key."""
        key = dict(self.record_map.columns).get(self.record.key[0])
        return self.cells.rows(key.heading if key else None)

    def _frame(self, columns: dict[str, list[str]], rows: list[int]) -> pl.DataFrame:
        data = {name: pl.Series(texts, dtype=pl.String) for name, texts in columns.items()}
        return pl.DataFrame({"row": pl.Series(rows, dtype=pl.Int64), **data})

    def _by_column(self, shared: dict[str, list[str]], headings: list[tuple[int, str, str]]) -> MappedRows:
        """One row for every filled cell of the columns that hold readings or checks."""
        base = self._frame(shared, [0] * self.cells.height)
        value_column = VALUE_COLUMNS[self.record.name]
        whole = self._lengths(self.record_map.share_of)
        parts, notes, n_nothing = [], [], 0
        for one in self.record_map.each:
            assert one.heading is not None
            headings.append((self._place(one), value_column, self.cells.written(one.heading)))
            written = self.cells.texts(one.heading, self._is_day(value_column))
            texts, n_none = _without_nothing(self.record, read_in_cells(one, self.record_map, written))
            n_nothing += n_none
            lengths = self._lengths(one.of) if one.of else whole
            if one.share is not None and any(
                text and length is None for text, length in zip(texts, lengths, strict=True)
            ):
                notes.append(f"'{self.cells.written(one.heading)}' has no place where the whole length is not known")
            parts.append(self._values(base, one, (written, texts, lengths)))
        rows = pl.concat(parts, how="diagonal") if parts else base
        return MappedRows(rows, tuple(headings), tuple(notes), n_nothing=n_nothing)

    def _values(
        self, base: pl.DataFrame, one: Each, given: tuple[list[str], list[str], list[float | None]]
    ) -> pl.DataFrame:
        written, texts, lengths = given
        keys = [row_key(row, self._place(one)) for row in self.cells.rows(one.heading)]
        texts = _in_words(self.record_map.words, texts)
        fixed = [pl.lit(text, pl.String).alias(name) for name, text in one.fixed]
        name = VALUE_COLUMNS[self.record.name]
        values = [pl.Series(name, texts, dtype=pl.String), pl.Series(cell_of(name), written, dtype=pl.String)]
        # where a mark stands for one outcome, it is that outcome, whatever the mark
        frame = base.with_columns(pl.Series("row", keys, dtype=pl.Int64), *values).with_columns(fixed)
        if one.unit_heading is not None:
            frame = frame.with_columns(pl.Series("unit", self.cells.texts(one.unit_heading), dtype=pl.String))
        if one.bare_unit is not None:
            units = [unit_beside(text, one.bare_unit) for text in texts]
            frame = frame.with_columns(pl.Series("unit", units, dtype=pl.String))
        if one.position_heading is not None:
            frame = frame.with_columns(
                pl.Series("position_mm", self.cells.texts(one.position_heading), dtype=pl.String)
            )
        if one.share is not None:
            share = one.share
            places = [None if length is None else _typed(length * share) for length in lengths]
            frame = frame.with_columns(pl.Series("position_mm", places, dtype=pl.String))
        return frame.filter(pl.Series([text != "" for text in texts], dtype=pl.Boolean))

    def _by_item(self, shared: dict[str, list[str]]) -> pl.DataFrame:
        """One row for every row that names an item and holds a value."""
        value_column = VALUE_COLUMNS[self.record.name]
        what = "measure" if self.record is READINGS else "check"
        items = self._items()
        fixed = {one.item: dict(one.fixed) for one in self.record_map.each}
        columns = dict(shared)
        if value_column in columns:
            columns[cell_of(value_column)] = columns[value_column]
            columns[value_column] = _in_words(self.record_map.words, columns[value_column])
        for name in dict.fromkeys([what, *(name for row in fixed.values() for name in row)]):
            texts = shared.get(name, [""] * len(items))
            unknown = items if name == what else texts
            columns[name] = [
                fixed.get(folded(item), {}).get(name, other) or text
                for item, other, text in zip(items, unknown, texts, strict=True)
            ]
        bare = {one.item: one.bare_unit for one in self.record_map.each if one.bare_unit is not None}
        if bare:
            units = columns.get("unit", [""] * len(items))
            columns["unit"] = [
                unit or unit_beside(text, bare[folded(item)]) if folded(item) in bare else unit
                for unit, text, item in zip(units, columns.get(value_column, units), items, strict=True)
            ]
        if positions := self._item_positions(items, columns.get("position_mm", [""] * len(items))):
            columns["position_mm"] = positions
        foreign = self._items_of_others()
        is_filled = [
            text != "" and folded(item) not in foreign
            for text, item in zip(columns.get(value_column, []), items, strict=True)
        ]
        rows = self._frame(_members_apart(places_apart(self.record_map, columns)), self._key_rows())
        return rows.filter(pl.Series(is_filled, dtype=pl.Boolean))

    def _items(self) -> list[str]:
        """What each row is, as the columns of items say it together."""
        return [item_name(parts) for parts in zip(*map(self.cells.texts, self.record_map.items), strict=True)]

    def _item_positions(self, items: list[str], written: list[str]) -> list[str]:
        """Where along the member each item stands that is at a share of it; none where no item is."""
        shared = {one.item: one for one in self.record_map.each if one.share is not None}
        if not shared:
            return []
        lengths = {name: self._lengths(one.of or self.record_map.share_of) for name, one in shared.items()}
        found = []
        for row, item in enumerate(map(folded, items)):
            one, length = shared.get(item), lengths.get(item, [None] * len(items))[row]
            share = (one.share if one else None) or 0.0
            found.append(written[row] if length is None else _typed(length * share))
        return found

    def _items_of_others(self) -> set[str]:
        """Items that another record of the sheet is made of; items that none names are left to the first."""
        others = [one for one in self.found.sheet_map.records if one.items[:1] == self.record_map.items[:1]]
        named = {str(each.item) for one in others for each in one.each}
        own = {str(each.item) for each in self.record_map.each}
        if self.record_map is others[-1]:
            return named - own
        return {folded(item) for item in self._items()} - own

    def _is_there(self) -> list[bool]:
        """Whether a row says something of this record: more than a key, and more than what was filled from above."""
        key = self.record.key[0]
        if not any(source.heading for _, source in self.record_map.columns):
            if lines := [(name, source) for name, source in self.record_map.columns if source.from_lines]:
                said = list(zip(*(self._texts(name, source) for name, source in lines), strict=True))
                return [row == 0 or one != said[row - 1] for row, one in enumerate(said)]
            # nothing but labels above the header and constants: the sheet is one row
            return [row == 0 for row in range(self.cells.height)]
        if self.found.sheet_map.map_of(INSTALLS.name) and any(source.from_row for _, source in self.record_map.columns):
            return self._says_more()
        own_key, own, filled = ([False] * self.cells.height for _ in range(3))
        for name, source in self.record_map.columns:
            if source.heading is None:
                continue
            is_own = self.cells.own(source.heading)
            if name == key:
                own_key = is_own
                continue
            own = [a or b for a, b in zip(own, is_own, strict=True)]
            filled = [a or text != "" for a, text in zip(filled, self.cells.texts(source.heading), strict=True)]
        return [b or (a and c) for a, b, c in zip(own_key, own, filled, strict=True)]

    def _says_more(self) -> list[bool]:
        """Whether a row of a door says something of a callback as well."""
        own = [source.heading for name, source in self.record_map.columns if name != INSTALLS.key[0] and source.heading]
        return [any(texts) for texts in zip(*map(self.cells.texts, own), strict=True)]

    def _texts(self, name: str, source: Source) -> list[str]:
        if source.heading is not None:
            texts = self.cells.texts(source.heading, self._is_day(name))
            if source.part:
                part_of = part_of_person if self.record.column(name).is_personal else part_of_cell
                texts = [part_of(text, source.part) for text in texts]
            further = [self.cells.texts(heading) for heading in source.joined]
            if source.unit_heading is not None:
                units = self.cells.texts(source.unit_heading)
                texts = [f"{text} {unit}".strip() if text else "" for text, unit in zip(texts, units, strict=True)]
            if further:
                joined = zip(texts, *further, strict=True)
                texts = [source.between.join(map(typed_number, filter(None, parts))) for parts in joined]
            return _worded(source, texts)
        if source.marks:
            columns = [(self.cells.texts(heading), word) for heading, word in source.marks]
            said = [[word for texts, word in columns if texts[row]] for row in range(self.cells.height)]
            # two marks in a row say nothing; they are shown as they contradict one another
            return [" and ".join(words) for words in said]
        if source.from_lines:
            return _worded(source, self.cells.over(source.after or None, self.record.column(name)))
        if source.look_up:
            assert self.found.others is not None
            numbers = self.cells.texts(source.look_up.here)
            found = self.found.others.find(name, source.look_up, numbers, self._is_day(name))
            self.looked_up.append((name, self.cells.written(source.look_up.here), found))
            return _worded(source, found.texts)
        text = source.always if source.always is not None else self.found.grid.name or ""
        if source.above is not None:
            text = self.cells.above(source.above, self._is_day(name))
        return _worded(source, [text]) * self.cells.height

    def _is_day(self, name: str) -> bool:
        return self.record.column(name).kind == DAY

    def column_units(self) -> dict[str, str]:
        """By column that has a unit of its own, another that the mapping says."""
        said = ((self.record.column(name), source.unit) for name, source in self.record_map.columns)
        return {column.name: _checked(column, unit) for column, unit in said if unit and own_unit(column) is not None}

    def turned(self, rows: pl.DataFrame) -> frozenset[int]:
        """Keys of the rows whose number has the other sign: by their column, by their item, or all of them."""
        value = dict(self.record_map.columns).get(VALUE_COLUMNS.get(self.record.name, ""))
        is_other = value is not None and value.is_turned
        other = {one.item for one in self.record_map.each if one.is_turned}
        if not other and not is_other:
            return frozenset()
        if self.record_map.items:
            # an item of the other sign in a column of the other sign counts as it does here
            named = zip(self._key_rows(), map(folded, self._items()), strict=True)
            return frozenset(row for row, item in named if (item in other) != is_other)
        if is_other:
            return frozenset(rows["row"].to_list())
        turned = [one for one in self.record_map.each if one.is_turned]
        return frozenset(row_key(row, self._place(one)) for one in turned for row in self.cells.rows(one.heading))

    def _place(self, one: Each) -> int:
        """The column of an entry, as keys have it: each of several numbers in a cell has one of its own."""
        assert one.heading is not None
        return self.cells.place(one.heading) | one.part << _PART_BITS

    def _lengths(self, source: Source | None) -> list[float | None]:
        """The whole length of each row in mm, over which shares are taken."""
        if source is None:
            return [None] * self.cells.height
        column = READINGS.column("position_mm")
        unit = source.unit and _checked(column, source.unit)
        sizes = sizes_of(column, self._texts("position_mm", source), unit, self.catalogue.customs.decimals)
        return list(sizes)


def _worded(source: Source, texts: list[str]) -> list[str]:
    texts = _in_words(source.words, texts)
    if source.prefix:
        texts = [f"{source.prefix}{text}" if text.isdecimal() else text for text in texts]
    return texts


def _in_words(words: tuple[tuple[str, str], ...], texts: list[str]) -> list[str]:
    """Cells with the firm's words as what they mean here."""
    meant = dict(words)
    return [meant.get(folded(text), text) for text in texts] if meant else texts


def _without_nothing(record: Record, texts: list[str]) -> tuple[list[str], int]:
    """(the cells of a column of readings, empty where they hold what people write for nothing; how many those are)."""
    if record is not READINGS:
        return texts, 0
    is_nothing = [text.casefold() in NOTHING for text in texts]
    return ["" if none else text for none, text in zip(is_nothing, texts, strict=True)], sum(is_nothing)


def nothing_notes(n_cells: int) -> list[str]:
    """What is told of cells of readings in which people wrote that they have none."""
    hold = "cell holds" if n_cells == 1 else "cells hold"
    return [f"{n_cells:,} {hold} a dash or n/a in place of a reading"] if n_cells else []


def item_name(parts: tuple[str, ...]) -> str:
    """The name of an item that several columns say together; nothing where the first says nothing."""
    return JOINT.join(filter(None, parts)) if parts[0] else ""


def _checked(column: Column, unit: str) -> str:
    """A unit that a mapping says of a column. Raises Unreadable where the column cannot have it."""
    if factor(column, unit) is None:
        known = _UNITS[own_unit(column) or "mm"]
        raise Unreadable(f"'{unit}' in its [[sheet]] table is not a unit of {column.name}; write {known}")
    return unit


def _members_apart(columns: dict[str, list[str]]) -> dict[str, list[str]]:
    """The columns with a member that stands among the stations, Left jamb, in its own where none is named there."""
    if "station" not in columns:
        return columns
    stations = columns["station"]
    members = columns.get("member", [""] * len(stations))
    meant = {text: place for text in set(stations) if (place := known_place(text)) in MEMBERS}
    if not meant:
        return columns
    moved = [station in meant and not member for station, member in zip(stations, members, strict=True)]
    places = list(zip(moved, members, stations, strict=True))
    return columns | {
        "member": [meant[station] if is_moved else member for is_moved, member, station in places],
        "station": ["" if is_moved else station for is_moved, _, station in places],
    }


def _typed(number: float) -> str:
    """A number as a workbook's own: its point is a decimal point, whatever the rest of the column looks like."""
    text = repr(number)
    return f"{text}e0" if "." in text and "e" not in text else text
