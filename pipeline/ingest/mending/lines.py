"""What the set-aside workbook shows: one line for every row that is set aside or has a cell left empty.

A line holds what the row says, as written, with what people corrected so far; never a personal cell. Rows that wait
for a door alone stand last, since they come in by themselves.
"""

import hashlib
import json
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from pipeline.ingest.history.mended_tables import MOST_LINES
from pipeline.ingest.history.row_keys import place_sql, row_sql
from pipeline.ingest.history.segments import all_rows, records_in_use
from pipeline.ingest.history.store import one_row
from pipeline.ingest.mending.ledger import Place, Texts, as_json
from pipeline.ingest.mending.overlay import plain_text
from pipeline.ingest.records import READINGS, RECORDS, WITHIN, Record

if TYPE_CHECKING:
    import duckdb

_KEY = 'f."row"'
# Everything found in one row together, of the rows of one record.
_ROWS = f"""
    CREATE OR REPLACE TEMP TABLE rows_shown AS
    SELECT f.load, f."row", any_value(f.file) AS file, any_value(f.sheet) AS sheet, any_value(h.heading) AS heading,
        string_agg(coalesce(f."column" || ': ', '') || f.reason, '; ' ORDER BY f.rowid) AS reason,
        list(f."column" ORDER BY f.rowid) FILTER (WHERE f."column" IS NOT NULL) AS faults,
        any_value(l.content_hash) AS content_hash,
        bool_and(f.reason LIKE 'door % is set aside (%') AS waits
    FROM found AS f JOIN loads AS l ON l.load = f.load
    LEFT JOIN headings AS h ON h.load = f.load AND h.place > 0 AND h.place = {place_sql(_KEY)} AND h."column" = $value
    WHERE f.record = $record AND f.scope <> 'file'
    GROUP BY f.load, f."row"
    ORDER BY waits, file, sheet NULLS FIRST, {row_sql(_KEY)}, f."row" LIMIT {MOST_LINES}
"""
_IN_ORDER = f'FROM rows_shown AS f ORDER BY waits, file, sheet NULLS FIRST, {row_sql(_KEY)}, f."row"'
_REFUSED = """
    SELECT s.load, s."row", t.cells FROM rows_shown AS s
    JOIN refused_texts AS t ON t.load = s.load AND t."row" = s."row"
"""
_PENDING = """
    SELECT sheet, row_key, "column", "after" FROM corrections
    WHERE record = ? AND file = ? AND superseded_at IS NULL ORDER BY correction
"""
_VALUE = {"readings": "value", "checks": "outcome"}


@dataclass(frozen=True)
class Line:
    """A line of the workbook. faults: the columns that are at fault; mark: what it is known by when it comes back."""

    place: Place
    heading: str | None
    reason: str
    faults: tuple[str, ...]
    cells: Texts
    content_hash: str
    mark: str


def lines_of(connection: "duckdb.DuckDBPyConnection") -> dict[Record, tuple[list[Line], int]]:
    """By record that has any: the lines to show, and how many rows there are in all.

    Reads what `write_rejections` found, on the same connection.
    """
    in_use = records_in_use(connection)
    shown = {}
    for record in (record for record in RECORDS if record in in_use):
        count = "SELECT count(DISTINCT (load, \"row\")) FROM found WHERE record = ? AND scope <> 'file'"
        (n_rows,) = one_row(connection, count, [record.name])
        if n_rows:
            shown[record] = _lines(connection, record), int(n_rows)
    return shown


def _lines(connection: "duckdb.DuckDBPyConnection", record: Record) -> list[Line]:
    connection.execute(_ROWS, {"record": record.name, "value": _VALUE.get(record.name, "")})
    texts = _kept_texts(connection, record)
    texts |= {(load, row): json.loads(cells) for load, row, cells in connection.execute(_REFUSED).fetchall()}
    counts = _n_corrections(connection, record)
    pending: dict[str, dict[tuple[str | None, int], dict[str, str | None]]] = {}
    rows = connection.execute(_IN_ORDER).fetchall()
    lines = []
    for load, row, file, sheet, heading, reason, faults, content_hash, _ in rows:
        if file not in pending:
            pending[file] = _pending(connection, record, file)
        cells = {**texts.get((load, row), {}), **pending[file].get((sheet, row), {})}
        said = {name: plain_text(text) for name, text in cells.items() if text}
        place = Place(record.name, file, sheet, row)
        made_from = (place, content_hash, as_json(said), faults, counts.get((file, sheet, row), 0))
        mark = hashlib.sha256(repr(made_from).encode()).hexdigest()[:12]
        lines.append(Line(place, heading, reason, tuple(faults or ()), said, content_hash, mark))
    return lines


def _pending(
    connection: "duckdb.DuckDBPyConnection", record: Record, file: str
) -> dict[tuple[str | None, int], dict[str, str | None]]:
    """Corrections in force by row; most are in what the row says already, those of a vanished file are not."""
    found: dict[tuple[str | None, int], dict[str, str | None]] = {}
    for sheet, key, column, after in connection.execute(_PENDING, [record.name, file]).fetchall():
        found.setdefault((sheet, key), {})[column] = after
    return found


def _n_corrections(connection: "duckdb.DuckDBPyConnection", record: Record) -> dict[tuple[str, str | None, int], int]:
    """How often each row was corrected: a line that says again what it once said is another line."""
    rows = connection.execute(
        "SELECT file, sheet, row_key, count(*) FROM corrections WHERE record = ? GROUP BY ALL", [record.name]
    ).fetchall()
    return {(file, sheet, key): count for file, sheet, key, count in rows}


def _kept_texts(connection: "duckdb.DuckDBPyConnection", record: Record) -> dict[tuple[int, int], Texts]:
    """What rows in the history say, as written as far as it was kept."""
    is_lean = 'EXISTS (SELECT 1 FROM door_leans AS d WHERE d.load = r.load AND d."row" = r."row")'
    cursor = connection.execute(
        f"SELECT r.*, c.raw, {is_lean} AS is_lean FROM {all_rows(record)} AS r "
        'SEMI JOIN rows_shown AS s ON s.load = r.load AND s."row" = r."row" '
        'LEFT JOIN raw_cells AS c ON c.load = r.load AND c."row" = r."row"'
    )
    names = [column[0] for column in cursor.description or []]
    rows = (dict(zip(names, row, strict=True)) for row in cursor.fetchall())
    return {(row["load"], row["row"]): _as_written(record, row) for row in rows}


def _as_written(record: Record, row: dict[str, Any]) -> Texts:
    if record is READINGS:
        if row["written_unit"] == WITHIN:
            row = {**row, "value": WITHIN}  # its own word stands among the raw texts
        elif row["written_unit"] is not None:
            row = {**row, "value": row["written_value"], "unit": row["written_unit"]}
        if row["is_lean"]:  # the door's length, not the row's
            row = {**row, "position_mm": None}
    raw = json.loads(row["raw"] or "{}")
    return {column.name: raw.get(column.name, _text(row[column.name])) for column in record.kept}


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return value.isoformat() if isinstance(value, date) else str(value)
