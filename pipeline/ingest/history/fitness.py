"""Which rows can count, given the other records and the last day: known door, known crew, no day to come, a length.

Judged anew on every run, so a row comes in by itself once what it hangs on is mended.
"""

from datetime import date
from typing import TYPE_CHECKING

from pipeline.ingest.history.segments import all_rows
from pipeline.ingest.history.spellings import find_unknown_doors
from pipeline.ingest.history.store import NO_CREW, NO_DOOR, NO_LENGTH, TOO_LATE, UNFIT, one_row
from pipeline.ingest.records import DAY, HANGS_ON_CREW, HANGS_ON_DOOR, NAMES_DOOR, READINGS, WITHIN, Record

if TYPE_CHECKING:
    import duckdb

# The length a lean is taken over where the row gives none: the door's width for the sill, its height for a jamb.
_DOOR_LENGTH = "CASE WHEN r.measure LIKE 'sill%' THEN i.width_mm ELSE i.height_mm END"
_PER_MM = "CASE WHEN r.written_unit = 'deg' THEN tan(radians(r.written_value)) ELSE r.written_value / 1000.0 END"


def judge_fitness(connection: "duckdb.DuckDBPyConnection", record: Record, last_day: date) -> bool:
    """Marks every row in force that cannot count, and frees those that now can; whether anything changed."""
    has_changed = record is READINGS and _fill_leans(connection)
    conditions = _conditions(connection, record, last_day)
    cases = " ".join(f"WHEN {condition} THEN {state}" for state, condition in conditions)
    doubtful = " OR ".join(f"({condition})" for _, condition in conditions)
    source = f'SELECT load, "row", CASE {cases} END AS state FROM {all_rows(record)} WHERE {doubtful}'
    connection.execute(f"CREATE OR REPLACE TEMP TABLE unfit AS {source if conditions else 'FROM marks LIMIT 0'}")
    before = (
        f'SELECT m.load, m."row", m.state FROM marks AS m JOIN loads AS l ON l.load = m.load '
        f"WHERE l.record = '{record.name}' AND m.state IN {UNFIT}"
    )
    (n_changes,) = one_row(
        connection,
        f"SELECT count(*) FROM ((FROM unfit EXCEPT {before}) UNION ALL ({before} EXCEPT FROM unfit))",
    )
    if n_changes:
        of_record = f"load IN (SELECT load FROM loads WHERE record = '{record.name}')"
        connection.execute(f"DELETE FROM marks WHERE {of_record} AND state IN {UNFIT}")
        connection.execute('DELETE FROM marks AS m USING unfit AS u WHERE u.load = m.load AND u."row" = m."row"')
        connection.execute("INSERT INTO marks FROM unfit")
    return has_changed or n_changes > 0


def _conditions(connection: "duckdb.DuckDBPyConnection", record: Record, last_day: date) -> list[tuple[int, str]]:
    """(state, condition) of a record, the first that holds decides."""
    found = []
    if record in NAMES_DOOR and find_unknown_doors(connection, record) and record in HANGS_ON_DOOR:
        found.append((NO_DOOR, "install_id IN (SELECT install_id FROM unknown_doors)"))
    if record in HANGS_ON_CREW and one_row(connection, "SELECT count(*) FROM crews")[0]:
        known = "SELECT crew FROM crews UNION ALL SELECT written FROM spellings WHERE \"column\" = 'crew'"
        found.append((NO_CREW, f"crew NOT IN ({known})"))
    days = [column.name for column in record.columns if column.is_required and column.kind == DAY]
    found += [(TOO_LATE, f"\"{name}\" > DATE '{last_day}'") for name in days]
    if record is READINGS:
        found.append((NO_LENGTH, f"\"value\" IS NULL AND written_unit IS DISTINCT FROM '{WITHIN}'"))
    return found


def _fill_leans(connection: "duckdb.DuckDBPyConnection") -> bool:
    """Makes leans without a length of their own millimetres over the door's; without a known length they stay null."""
    if not one_row(connection, "SELECT count(*) FROM door_leans")[0]:
        return False
    connection.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE lean_lengths AS
        SELECT r.rowid AS id, {_DOOR_LENGTH} AS length_mm, {_PER_MM} * {_DOOR_LENGTH} AS lean_mm,
            r.position_mm AS before_mm
        FROM readings_rows AS r
        JOIN door_leans AS d ON d.load = r.load AND d."row" = r."row"
        LEFT JOIN installs AS i ON i.install_id = r.install_id
        """
    )
    (n_filled,) = one_row(
        connection,
        """
        UPDATE readings_rows SET position_mm = l.length_mm, "value" = l.lean_mm
        FROM lean_lengths AS l WHERE readings_rows.rowid = l.id AND l.before_mm IS DISTINCT FROM l.length_mm
        """,
    )
    return bool(n_filled)
