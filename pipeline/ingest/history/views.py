"""The views that others read: each record's current rows, and its history with file, sheet, row and version."""

from datetime import date
from typing import TYPE_CHECKING

from pipeline.ingest.declared.mapping import VALUE_COLUMNS
from pipeline.ingest.history.row_keys import place_sql, row_sql
from pipeline.ingest.history.segments import Segment, find_segments
from pipeline.ingest.history.store import STATES, SUPERSEDED, one_row, rows_columns
from pipeline.ingest.records import CALLBACKS, DAY, READINGS, Record

if TYPE_CHECKING:
    import duckdb

_KEY = 'r."row"'
# Written value and unit in their own spelling leave no raw cell of their own: the columns say it.
_READINGS_RAW = (
    "CASE WHEN r.written_unit IS NULL THEN c.raw ELSE json_merge_patch("
    "json_object('value', r.written_value, 'unit', r.written_unit), coalesce(c.raw, '{}')::JSON)::TEXT END"
)


def make_views(
    connection: "duckdb.DuckDBPyConnection", records: tuple[Record, ...], last_day: date
) -> dict[str, list[str]]:
    """Makes the views of the records anew. Optional days after last_day read as empty; they stay in the history.

    Returns, by record, the columns that hold such days.
    """
    late = {}
    for record in records:
        make_current_view(connection, record)
        late[record.name] = _late_days(connection, record, last_day)
        if late[record.name]:
            make_current_view(connection, record, dict.fromkeys(late[record.name], last_day))
        connection.execute(_history(record, find_segments(connection, record, in_force=False)))
    return late


def make_current_view(
    connection: "duckdb.DuckDBPyConnection", record: Record, late: dict[str, date] | None = None
) -> None:
    """Makes the view of a record's current rows. late: the last day by column that holds later ones."""
    selects = []
    for segment in find_segments(connection, record):
        columns = [_column(segment, name, kind, (late or {}).get(name)) for name, kind in rows_columns(record)]
        joins = f"{segment.hidden_join()} {_unmarked(connection, segment)}"
        selects.append(f"SELECT {', '.join(columns)} FROM {segment.table} AS r {joins}")
    connection.execute(f"CREATE OR REPLACE VIEW {record.name} AS {' UNION ALL '.join(selects)}")


def _late_days(connection: "duckdb.DuckDBPyConnection", record: Record, last_day: date) -> list[str]:
    days = [column.name for column in record.kept if column.kind == DAY and not column.is_required]
    if not days:
        return []
    found = one_row(connection, f"SELECT {', '.join(f'max({name})' for name in days)} FROM {record.name}")
    return [name for name, day in zip(days, found, strict=True) if day is not None and day > last_day]


def _column(segment: Segment, name: str, kind: str, last_day: date | None) -> str:
    if last_day is not None and name in segment.columns:
        return f'CASE WHEN r."{name}" <= DATE \'{last_day}\' THEN r."{name}" END AS "{name}"'
    if segment.record is CALLBACKS and name == "install_id":
        # a door that is not known leaves the cell empty, as long as it is not known
        door = segment.meant(name)
        return f"CASE WHEN {door} IN (SELECT install_id FROM installs) THEN {door} END AS install_id"
    if name in segment.spelt and name in segment.columns:
        return f'{segment.meant(name)} AS "{name}"'
    return segment.selected(name, kind)


def _unmarked(connection: "duckdb.DuckDBPyConnection", segment: Segment) -> str:
    """The join that leaves only rows that count; empty where all of a large file's do."""
    if segment.load is None:
        return (
            'ANTI JOIN marks AS m ON m.load = r.load AND m."row" = r."row" '
            "SEMI JOIN (SELECT load FROM loads WHERE replaced_in IS NULL) AS l ON l.load = r.load"
        )
    if not one_row(connection, f"SELECT count(*) FROM marks WHERE load = {segment.load}")[0]:
        return ""
    marked = f'SELECT "row" FROM marks WHERE load = {segment.load}'
    return f'ANTI JOIN ({marked}) AS m ON m."row" = {segment.number}'


def _history(record: Record, segments: list[Segment]) -> str:
    names = ", ".join(f'r."{name}"' for name, _ in rows_columns(record))
    states = "[" + ", ".join(f"'{state}'" for state in STATES) + "]"
    state = f"CASE WHEN l.replaced_in IS NOT NULL THEN {SUPERSEDED} ELSE coalesce(m.state, 0) END"
    rows = " UNION ALL ".join(segment.rows_sql() for segment in segments)
    return (
        f"CREATE OR REPLACE VIEW {record.name}_history AS "
        f'SELECT {names}, l.file, l.sheet, {row_sql(_KEY)} AS "row", h.heading AS "column", l."version", '
        f"{_READINGS_RAW if record is READINGS else 'c.raw'} AS raw, "
        f"{states}[{state} + 1] AS state, {state} = {SUPERSEDED} AS superseded "
        f"FROM ({rows}) AS r JOIN loads AS l ON l.load = r.load "
        'LEFT JOIN marks AS m ON m.load = r.load AND m."row" = r."row" '
        'LEFT JOIN raw_cells AS c ON c.load = r.load AND c."row" = r."row" '
        f"LEFT JOIN headings AS h ON h.load = r.load AND h.place > 0 AND h.place = {place_sql(_KEY)} "
        f"AND h.\"column\" = '{VALUE_COLUMNS.get(record.name, '')}'"
    )
