"""The views that others read: each record's current rows, and its history with file, sheet, row and version."""

from datetime import date
from typing import TYPE_CHECKING

from pipeline.ingest.records import CALLBACKS, DAY, READINGS, RECORDS, Record
from pipeline.ingest.store import CURRENT, STATES, SUPERSEDED, one_row, rows_columns, rows_table

if TYPE_CHECKING:
    import duckdb


def make_views(connection: "duckdb.DuckDBPyConnection", late: dict[str, list[str]], last_day: date) -> None:
    """Makes every view anew. Days after last_day in the `late` columns read as empty; they stay in the history."""
    for record in RECORDS:
        connection.execute(_current(record, late.get(record.name, []), last_day))
        connection.execute(_history(record))


def late_days(connection: "duckdb.DuckDBPyConnection", last_day: date) -> dict[str, list[str]]:
    """By record, the optional date columns in which a current row has a day after last_day."""
    return {record.name: _late_days(connection, record, last_day) for record in RECORDS}


def _late_days(connection: "duckdb.DuckDBPyConnection", record: Record, last_day: date) -> list[str]:
    days = [column.name for column in record.kept if column.kind == DAY and not column.is_required]
    if not days:
        return []
    latest = ", ".join(f'max("{name}")' for name in days)
    counting = f'state = {CURRENT} AND "row" IS NOT NULL'
    found = one_row(connection, f"SELECT {latest} FROM {rows_table(record)} WHERE {counting}")
    return [name for name, day in zip(days, found, strict=True) if day is not None and day > last_day]


def _current(record: Record, late: list[str], last_day: date) -> str:
    columns = []
    for name, _ in rows_columns(record):
        if name in late:
            columns.append(f'CASE WHEN "{name}" <= DATE \'{last_day}\' THEN "{name}" END AS "{name}"')
        elif record is CALLBACKS and name == "install_id":
            columns.append(
                "CASE WHEN install_id IN (SELECT install_id FROM installs) THEN install_id END AS install_id"
            )
        else:
            columns.append(f'"{name}"')
    return (
        f"CREATE OR REPLACE VIEW {record.name} AS SELECT {', '.join(columns)} FROM {rows_table(record)} "
        f'WHERE state = {CURRENT} AND "row" IS NOT NULL'
    )


def _history(record: Record) -> str:
    names = ", ".join(f'r."{name}"' for name, _ in rows_columns(record))
    states = "[" + ", ".join(f"'{state}'" for state in STATES) + "]"
    raw = "c.raw"
    if record is READINGS:
        # a unit in its own spelling leaves no raw cell of its own: value and unit as written say it
        written = "json_object('value', r.written_value, 'unit', r.written_unit)"
        raw = (
            "CASE WHEN r.written_unit IS NULL THEN c.raw "
            f"ELSE json_merge_patch({written}, coalesce(c.raw, '{{}}')::JSON)::TEXT END"
        )
    return (
        f"CREATE OR REPLACE VIEW {record.name}_history AS "
        f'SELECT {names}, l.file, l.sheet, r."row", l."version", {raw} AS raw, '
        f"{states}[r.state + 1] AS state, r.state = {SUPERSEDED} AS superseded "
        f"FROM {rows_table(record)} AS r JOIN loads AS l USING (load) "
        'LEFT JOIN raw_cells AS c ON c.load = r.load AND c."row" = r."row" WHERE r."row" IS NOT NULL'
    )
