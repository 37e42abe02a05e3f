"""Large JSON lines by the typed path: DuckDB reads the keys of every line; a row's place gives its line."""

from collections.abc import Collection, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.ingest.bulk.typed import (
    BULKY,
    NOT_A_NUMBER,
    BulkSource,
    certain_manners,
    find_unsure,
    land_bulk,
    shown_point,
    typed_cell,
    with_mended,
)
from pipeline.ingest.files.file_scan import FileScan, lines_at
from pipeline.ingest.files.headers import Header, find_header
from pipeline.ingest.files.json_text import LONGEST_LINE, MOST_KEYS, WHERE, check_json, rows_of
from pipeline.ingest.files.sheets import PART_ROWS, Part, make_part
from pipeline.ingest.history.segments import FIRST_LINE
from pipeline.ingest.history.store import one_row
from pipeline.ingest.judging.judge import Judge
from pipeline.ingest.records import NUMBER, Column, Record
from pipeline.ingest.texts.manners import Manners
from pipeline.warehouse import connect, escaped_to_read

if TYPE_CHECKING:
    import duckdb

# What stands for a cell that was no text; whole numbers are the same as text.
_NO_TEXTS = r"^(?:[\[{].*|true|false|NaN|-?Infinity|-?\d+(?:\.\d+)?[eE][+-]?\d+|-?\d+\.\d+)$|\x00"
_AS_STRING = """{0} LIKE '"%'"""
_OPTIONS = f"ignore_errors = true, maximum_object_size = {LONGEST_LINE}"


class BulkJson:
    """One large file on the typed path. n_landed: rows of its table, those the judge has to see included.

    keys  every key of its lines; the header's places are places among them
    """

    def __init__(self, record: Record, path: Path, keys: list[str], header: Header, n_lines: int) -> None:
        self.record = record
        self.header = header
        self.n_landed = 0
        self.manners = Manners()
        self.unsure: list[int] = []
        self._path = path
        self._keys = keys
        self._n_lines = n_lines
        kinds = {keys[place]: record.column(name).kind for name, place in header.places.items()}
        columns = ", ".join(f"{_text(key)}: '{'JSON' if kind == NUMBER else 'VARCHAR'}'" for key, kind in kinds.items())
        self._relation = (
            f"read_json('{escaped_to_read(path)}', format = 'newline_delimited', columns = {{{columns}}}, {_OPTIONS})"
        )

    def land(
        self, connection: "duckdb.DuckDBPyConnection", judge: Judge, load: int, mended: Collection[int] = ()
    ) -> bool:
        """Lands the file in a table of its own; false where its lines are not its rows or are not read as text is.

        mended  rows that people corrected: the judge has to see them
        """
        import duckdb

        cells = {name: _cell(self.record.column(name), self._cell(name)) for name in self.header.places}
        try:
            table = land_bulk(connection, self.record, BulkSource(self._relation, cells), load)
        except duckdb.Error:
            return False
        (self.n_landed,) = one_row(connection, f"SELECT count(*) FROM {table}")
        if self.n_landed != self._n_lines:
            return False
        ids = find_unsure(connection, self.record, judge.catalogue, table, _NO_TEXTS)
        there = range(FIRST_LINE, FIRST_LINE + self.n_landed)
        self.unsure = with_mended((id_ + FIRST_LINE for id_ in ids), mended, there)
        manners = certain_manners(
            judge,
            self.parts(PART_ROWS),
            lambda name: self._point(connection, name),
            (connection, table),
        )
        self.manners = manners or self.manners
        return manners is not None

    def parts(self, size: int) -> Iterator[Part]:
        """The rows that the judge has to see, as text."""
        for begin in range(0, len(self.unsure), size):
            lines = lines_at(self._path, self.unsure[begin : begin + size])
            rows = rows_of(self.record, self.header, self._keys, ((row, line.encode()) for row, line in lines))
            yield make_part(self.record, self.header, rows)

    def _cell(self, name: str) -> str:
        key = self._keys[self.header.places[name]].replace('"', '""')
        return f's."{key}"'

    def _point(self, connection: "duckdb.DuckDBPyConnection", name: str) -> str | None:
        if name not in self.header.places:
            return None
        cell = self._cell(name)
        is_number = self.record.column(name).kind == NUMBER
        return shown_point(connection, self._relation, _string(cell) if is_number else cell)


def bulk_json(record: Record, path: Path, scan: FileScan) -> BulkJson | None:
    """The file for the typed path. Raises Unreadable, as check_json, and where a required key is missing."""
    if record not in BULKY or not scan.is_utf8 or scan.has_nul:
        return None
    check_json(path)
    keys = _find_keys(path)
    if keys is None:
        return None
    header = find_header(record, keys, WHERE)
    return None if header.units else BulkJson(record, path, keys, header, scan.n_lines)


def _find_keys(path: Path) -> list[str] | None:
    """Every key, by name; None where lines name a key twice or in very many orders."""
    import duckdb

    keys = f"SELECT json_keys(json) AS keys FROM read_ndjson_objects('{escaped_to_read(path)}', {_OPTIONS})"
    try:
        with connect() as connection:
            found = connection.execute(f"SELECT DISTINCT keys FROM ({keys}) LIMIT {MOST_KEYS + 1}").fetchall()
    except duckdb.Error:
        return None
    lists = [names for (names,) in found if names]
    if len(found) > MOST_KEYS or any(len(set(names)) < len(names) for names in lists):
        return None
    return sorted({name for names in lists for name in names}) or None


def _cell(column: Column, cell: str) -> str:
    """The SQL of a cell: a number as it is, a string as the text it holds."""
    if column.kind != NUMBER:
        return typed_cell(column, f"nullif({cell}, '')")
    plain = f"try_cast({cell}::VARCHAR AS DOUBLE) + 0.0"
    if not column.is_required:
        plain = f"coalesce({plain}, CASE WHEN {cell} IS NOT NULL THEN {NOT_A_NUMBER} END)"
    return f"CASE WHEN {_AS_STRING.format(cell)} THEN {typed_cell(column, _string(cell))} ELSE {plain} END"


def _string(cell: str) -> str:
    """The SQL of the text that a JSON string holds; null for what is no string."""
    return f"nullif(CASE WHEN {_AS_STRING.format(cell)} THEN {cell} ->> '$' END, '')"


def _text(key: str) -> str:
    return "'" + key.replace("'", "''") + "'"
