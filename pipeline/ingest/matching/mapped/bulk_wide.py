"""A large mapped CSV with a column for every reading or check, by the typed path: DuckDB makes wide long.

Only rows that stand alone are landed so: a door of their own, no totals, no heading, nothing to be filled from above.
All others, and cells that are not certain, are made as any mapped sheet is and go to the judge. Faster, never other.
"""

import re
from collections.abc import Collection, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.bulk.typed import NOT_A_NUMBER, certain_manners, find_unsure, shown_point, typed_cell
from pipeline.ingest.declared.mapping import VALUE_COLUMNS, Each, RecordMap, SheetMap, Source
from pipeline.ingest.declared.totals import SUMS_UP
from pipeline.ingest.files.csv_text import split
from pipeline.ingest.files.file_scan import FileScan, lines_at
from pipeline.ingest.files.headers import Header
from pipeline.ingest.files.sheets import Part
from pipeline.ingest.files.unread import Unread
from pipeline.ingest.history.row_keys import key_sql, row_of
from pipeline.ingest.history.segments import make_load_table
from pipeline.ingest.history.store import one_row, quoted, with_frame
from pipeline.ingest.judging.judge import Judge
from pipeline.ingest.matching.mapped.own_sheets import find_map
from pipeline.ingest.matching.mapped.unread_headings import unread_of
from pipeline.ingest.matching.sheet.body import DITTO, TableCells, is_ditto
from pipeline.ingest.matching.sheet.found import Found
from pipeline.ingest.matching.sheet.grid import Grid, head_of_csv
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.sheet.rows import mapped_rows, nothing_notes
from pipeline.ingest.records import READINGS, Record
from pipeline.ingest.texts.manners import Manners
from pipeline.ingest.texts.not_said import NOTHING
from pipeline.warehouse import escaped_to_read

if TYPE_CHECKING:
    import duckdb

# Rows made one by one; with more of them the file is read so throughout.
_MOST_OTHERS = 100_000
_POSITION = "position_mm"


class BulkWide:
    """One large mapped CSV on the typed path. n_landed: rows of its table, those the judge has to see included.

    file    its path, separator and number of lines
    unsure  keys of the landed rows that the judge takes over; headings, notes, unread: as a sheet has them
    """

    def __init__(self, record: Record, file: tuple[Path, str, int], found: Found) -> None:
        record_map, cells = found.sheet_map.map_of(record.name), found.cells
        assert record_map is not None
        assert isinstance(cells, TableCells)
        self.record = record
        self.n_landed = 0
        self.unsure: list[int] = []
        self.manners = Manners()
        self.header = Header({}, 0, ())
        self.headings: tuple[tuple[int, str, str], ...] = ()
        self.notes: list[str] = []
        self.unread: tuple[Unread, ...] = ()
        self._path, self._separator, self._n_lines = file
        self._found, self._cells, self._map = found, cells, record_map
        self._others: list[int] = []
        self._made: pl.DataFrame | None = None

    def land(
        self, connection: "duckdb.DuckDBPyConnection", judge: Judge, load: int, mended: Collection[int] = ()
    ) -> bool:
        """Lands the file in a table of its own; false where it cannot be read so.

        mended  keys of rows that people corrected: the judge has to see them
        """
        import duckdb

        try:
            source = f"SELECT {self._columns()} FROM {self._relation()} AS s"
            connection.execute(f"CREATE OR REPLACE TEMP TABLE wide AS {source}")
        except duckdb.Error:
            return False
        if not self._are_rows_lines(connection):
            return False
        table = self._make_long(connection, load)
        (self.n_landed,) = one_row(connection, f"SELECT count(*) FROM {table}")
        find_unsure(connection, self.record, judge.catalogue, table)
        is_unsure = 'rowid IN (SELECT id FROM unsure) OR list_contains($mended, "row")'
        keys = f'SELECT DISTINCT "row" FROM {table} WHERE {is_unsure} ORDER BY 1'
        self.unsure = [key for (key,) in connection.execute(keys, {"mended": list(mended)}).fetchall()]
        if not self._make_others(connection, judge):
            return False
        manners = certain_manners(
            judge,
            self.parts(0),
            lambda name: self._point(connection, name),
            (connection, table),
        )
        connection.execute("DROP TABLE wide")
        self.manners = manners or self.manners
        return manners is not None

    def parts(self, size: int) -> Iterator[Part]:
        """The rows that the judge has to see, as text, all in one."""
        assert self._made is not None
        yield Part(self._made)

    def _columns(self) -> str:
        """SQL of the wide table: what rows share, v and the column for every value, and whether a row stands alone."""
        shared = [
            f'{typed_cell(self.record.column(name), self._cell(source))} AS "{name}"'
            for name, source in self._map.columns
            if source.heading
        ]
        value = self.record.column(VALUE_COLUMNS[self.record.name])
        values = [
            f"{_or_mark(typed_cell(value, self._cell(one)), self._cell(one))} AS v{self._place(one)}"
            for one in self._map.each
        ]
        length = self._map.share_of
        lengths = [f"{_or_mark(_number(self._cell(length)), self._cell(length))} AS whole"] if length else []
        told = [
            f"{self._nothing()} AS n_nothing",
            f"{self._is_alone()} AS is_alone",
            f"{self._has_ditto()} AS has_ditto",
        ]
        return ", ".join([*shared, *values, *lengths, *told])

    def _is_alone(self) -> str:
        """SQL: the row has a door of its own, is no row of totals or headings, and needs nothing from above."""
        key = self._cell(dict(self._map.columns)["install_id"])
        columns = [f"c{place}" for place in range(len(self._cells.heads.written))]
        first = f"coalesce({', '.join(columns)})"
        sheet_map = self._found.sheet_map
        words = "|".join(re.escape(word) for word in (*sheet_map.skip, *sheet_map.skip_alone))
        heads = ", ".join(_text(part) for part in self._written(key).casefold().split(JOINT))
        begins, ends = f"(?i)^({words})s?([^a-z0-9_]|$)", f"(?i)[^a-z0-9_]({words})s?[^a-z0-9_]*$"
        conditions = [
            f"trim(coalesce({key}, '')) <> ''",
            *(f"NOT regexp_matches(trim({first}), {_text(sums)})" for sums in (begins, ends) if words),
            f"lower(trim({key})) NOT IN ({heads})",
            f"NOT regexp_full_match(trim({first}), {_text(f'(?i){SUMS_UP.pattern}')})",
        ]
        for name in set(self._found.sheet_map.fill_down) & set(self._map.headings):
            conditions.append(f"trim(coalesce(c{self._cells.heads.places[name]}, '')) <> ''")
        return " AND ".join(conditions)

    def _has_ditto(self) -> str:
        """SQL: a cell that a row's values share says that it is the same as above."""
        dittos = ", ".join(map(_text, sorted(DITTO)))
        cells = [self._cell(source) for _, source in self._map.columns if source.heading]
        return " OR ".join(f"coalesce(lower(trim({cell})) IN ({dittos}), false)" for cell in cells)

    def _are_rows_lines(self, connection: "duckdb.DuckDBPyConnection") -> bool:
        """Whether every line is a row, and few of them do not stand alone; none where a cell means the row above."""
        counts = "count(*), count(*) FILTER (WHERE NOT is_alone), count(*) FILTER (WHERE has_ditto)"
        n_rows, n_others, n_dittos = one_row(connection, f"SELECT {counts} FROM wide")
        most = 0 if set(self._found.sheet_map.fill_down) & set(self._map.headings) else _MOST_OTHERS
        if n_rows + self._cells.heads.body != self._n_lines or n_others > most or n_dittos:
            return False
        first = self._cells.heads.body + 1
        others = connection.execute(f"SELECT rowid + {first} FROM wide WHERE NOT is_alone ORDER BY 1").fetchall()
        self._others = [row for (row,) in others]
        return True

    def _make_long(self, connection: "duckdb.DuckDBPyConnection", load: int) -> str:
        """Lands a row for every filled value of the rows that stand alone, in the order of the file."""
        value = VALUE_COLUMNS[self.record.name]
        names = [name for name, _ in self._map.columns]
        fixed = [name for one in self._map.each for name, _ in one.fixed]
        shares = [_POSITION] if any(one.share is not None for one in self._map.each) else []
        columns = [c.name for c in self.record.kept if c.name in {*names, *fixed, *shares, value}]
        table = make_load_table(connection, self.record, load, columns)
        connection.execute(f'ALTER TABLE {table} ADD COLUMN "row" BIGINT')
        places = ", ".join(f"v{self._place(one)}" for one in self._map.each)
        row = f"rid + {self._cells.heads.body + 1}"
        cells = ", ".join(self._long_cell(name, value) for name in columns)
        long = f"(FROM (SELECT rowid AS rid, * FROM wide WHERE is_alone) UNPIVOT (v FOR k IN ({places})))"
        with_frame(
            connection,
            self._entries(),
            f'INSERT INTO {table} ({quoted(*columns)}, "row") SELECT {cells}, {key_sql(row, "e.place")} '
            f"FROM {long} AS w JOIN incoming AS e ON e.k = w.k",
        )
        return table

    def _long_cell(self, name: str, value: str) -> str:
        if name == value:
            return "w.v"
        source = dict(self._map.columns).get(name)
        entries = self._entries().columns
        said = f'w."{name}"' if source and source.heading else _text(self._constant(source)) if source else "NULL"
        own = f'e."{name}"' if name in entries else "NULL"
        if name == _POSITION and self._map.share_of:
            share = f"CASE WHEN w.whole = {NOT_A_NUMBER} THEN e.share + {NOT_A_NUMBER} ELSE w.whole * e.share END"
            own = f"coalesce({share}, {own})"
        return f"coalesce({own}, {said})"

    def _entries(self) -> pl.DataFrame:
        """The lines of `each`: k (the wide column), place, what is fixed, and the share."""
        rows = [
            {"k": f"v{self._place(one)}", "place": self._place(one), "share": one.share, **dict(one.fixed)}
            for one in self._map.each
        ]
        frame = pl.DataFrame(rows, infer_schema_length=None)
        if _POSITION in frame.columns:
            frame = frame.with_columns(pl.col(_POSITION).cast(pl.Float64))
        return frame

    def _make_others(self, connection: "duckdb.DuckDBPyConnection", judge: Judge) -> bool:
        """Makes the rows that do not stand alone, and those of unsure cells, as any mapped sheet's are made.

        False where a value is said to be that of the row above, which is not among them.
        """
        head = list(range(1, self._cells.heads.body + 1))
        alone = {row_of(key) for key in self.unsure}
        wanted = sorted({*head, *self._others, *alone})
        lines = [
            split(line, self._separator) or line.split(self._separator) for _, line in lines_at(self._path, wanted)
        ]
        used = {self._cells.heads.places[heading] for heading in self._map.headings}
        if any(is_ditto(cell.strip()) for line in lines for at, cell in enumerate(line) if at in used):
            return False
        grid = Grid(None, [list(cells) for cells in lines], "")
        cells = TableCells(grid, self._cells.heads, self._found.sheet_map, numbers=wanted)
        made = mapped_rows(replace(self._found, grid=grid, cells=cells), self._map, judge.catalogue)
        keys = pl.Series(self.unsure, dtype=pl.Int64)
        low = pl.Series([row_of(key) for key in made.rows["row"].to_list()], dtype=pl.Int64)
        is_other = low.is_in(pl.Series(self._others, dtype=pl.Int64).implode())
        self._made = made.rows.filter(is_other | made.rows["row"].is_in(keys.implode()))
        self.headings = made.headings
        is_first = self._map is self._found.sheet_map.records[0]
        told = nothing_notes(self._n_nothing(connection, wanted) + made.n_nothing)
        self.unread = unread_of(self._found, is_counted=False) if is_first else ()
        self.notes = [*((*self._found.notes, *cells.notes()) if is_first else ()), *made.notes, *told]
        return True

    def _n_nothing(self, connection: "duckdb.DuckDBPyConnection", made: list[int]) -> int:
        """How many cells hold nothing, but for the rows of the file that are made one by one."""
        row = f"rowid + {self._cells.heads.body + 1}"
        count = f"SELECT coalesce(sum(n_nothing), 0) FROM wide WHERE {row} NOT IN (SELECT unnest(?))"
        return int(one_row(connection, count, [made])[0])

    def _point(self, connection: "duckdb.DuckDBPyConnection", name: str) -> str | None:
        """A value that shows a decimal point, among all columns of values."""
        if name != VALUE_COLUMNS[self.record.name]:
            return None
        cells = ", ".join(self._cell(one) for one in self._map.each)
        return shown_point(connection, f"(SELECT unnest([{cells}]) AS t FROM {self._relation()} AS s)", "s.t")

    def _nothing(self) -> str:
        """SQL of how many cells of a row of readings hold what people write for nothing."""
        if self.record is not READINGS:
            return "0"
        # all else that is written has a value or a mark; trim, which those use as well, would be made for every cell
        cells = [(f"v{self._place(one)}", self._cell(one)) for one in self._map.each]
        return " + ".join(f"CASE WHEN {v} IS NULL AND ltrim({cell}) <> '' THEN 1 ELSE 0 END" for v, cell in cells)

    def _constant(self, source: Source) -> str:
        if source.above is not None:
            return self._cells.above(source.above)
        return source.always or ""

    def _cell(self, one: Source | Each) -> str:
        return f"c{self._cells.heads.places[one.heading or '']}"

    def _place(self, one: Each) -> int:
        return self._cells.place(one.heading or "")

    def _written(self, cell: str) -> str:
        return self._cells.heads.written[int(cell.removeprefix("c"))]

    def _relation(self) -> str:
        columns = ", ".join(f"'c{place}': 'VARCHAR'" for place in range(len(self._cells.heads.written)))
        return (
            f"read_csv('{escaped_to_read(self._path)}', columns = {{{columns}}}, header = false, auto_detect = false, "
            f"skip = {self._cells.heads.body}, delim = '{self._separator}', quote = '\"', escape = '\"', "
            "null_padding = true)"
        )


def bulk_wide(record: Record, path: Path, scan: FileScan, sheet_maps: tuple[SheetMap, ...]) -> BulkWide | None:
    """The file for the typed path, where it is plainly written and its mapping asks for nothing but wide to long.

    Raises Unreadable, as find_map.
    """
    if record.name not in VALUE_COLUMNS or not scan.is_utf8 or scan.has_nul or scan.odd_quotes:
        return None
    if any(one.is_part or one.across or one.leave_out or one.begins_with or one.at_foot for one in sheet_maps):
        return None
    grid, separator = head_of_csv(path)
    found = find_map(grid, sheet_maps)
    record_map = found.sheet_map.map_of(record.name) if found else None
    if found is None or record_map is None or found.sheet_map.form or not _is_plain(record_map):
        return None
    return BulkWide(record, (path, separator, scan.n_lines), found)


def _is_plain(record_map: RecordMap) -> bool:
    """Whether the mapping takes cells as they are."""
    sources = [source for _, source in record_map.columns]
    lengths = [record_map.share_of] if record_map.share_of else []
    is_plain = all(replace(one, heading=None, always=None, above=None) == Source() for one in [*sources, *lengths])
    each_is_plain = all(
        one.heading is not None
        and not (one.of or one.unit_heading or one.position_heading or one.is_turned or one.bare_unit or one.part)
        for one in record_map.each
    )
    key = dict(record_map.columns).get("install_id")
    has_key = key is not None and key.heading is not None
    asks_more = bool(record_map.items or record_map.words)
    return bool(record_map.each) and not asks_more and is_plain and each_is_plain and has_key


def _number(cell: str) -> str:
    return typed_cell(READINGS.column("value"), cell)


def _or_mark(typed: str, cell: str) -> str:
    """The typed cell; a mark that no record may hold where something stands in it that cannot be typed."""
    if typed == cell:
        return f"nullif(trim({cell}), '')"
    nothing = ", ".join(map(_text, ["", *sorted(NOTHING)]))
    return f"coalesce({typed}, CASE WHEN lower(trim({cell})) NOT IN ({nothing}) THEN {NOT_A_NUMBER} END)"


def _text(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
