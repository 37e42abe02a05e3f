"""Which rows can count, given the other records and the last day: known door, known crew, no day to come, a length.

Judged anew on every run, so a row comes in by itself once what it hangs on is mended.
"""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from pipeline.ingest.records import CHECKS, DAY, INSTALLS, READINGS, TRAINING, Record
from pipeline.ingest.store import (
    CONTRADICTS,
    CURRENT,
    NO_CREW,
    NO_DOOR,
    NO_LENGTH,
    REPEAT,
    SUPERSEDED,
    TOO_LATE,
    one_row,
    rows_table,
)

if TYPE_CHECKING:
    import duckdb

_HANGS_ON_DOOR = (CHECKS, READINGS)
_HANGS_ON_CREW = (INSTALLS, TRAINING)
FIT = (CURRENT, SUPERSEDED, REPEAT, CONTRADICTS)
LIVE = 'load IN (SELECT load FROM loads WHERE replaced_in IS NULL) AND "row" IS NOT NULL'
# The length a lean is taken over where the row gives none: the door's width for the sill, its height for a jamb.
DOOR_LENGTH = "CASE WHEN r.measure LIKE 'sill%' THEN i.width_mm ELSE i.height_mm END"
_PER_MM = "CASE WHEN r.written_unit = 'deg' THEN tan(radians(r.written_value)) ELSE r.written_value / 1000.0 END"


@dataclass(frozen=True)
class Unfit:
    """A condition under which a row cannot count, and the state it then has."""

    state: int
    condition: str


def judge_fitness(connection: "duckdb.DuckDBPyConnection", record: Record, last_day: date) -> bool:
    """Sets the state of every live row that cannot count, and frees those that now can; whether any changed."""
    changed = _fill_leans(connection) if record is READINGS else 0
    for unfit in _conditions(connection, record, last_day):
        changed += _apply(connection, record, unfit)
    return changed > 0


def _conditions(connection: "duckdb.DuckDBPyConnection", record: Record, last_day: date) -> list[Unfit]:
    found = []
    if record in _HANGS_ON_DOOR:
        connection.execute(
            "CREATE OR REPLACE TEMP TABLE unknown_doors AS "
            f"SELECT DISTINCT install_id FROM {rows_table(record)} WHERE {LIVE} "
            "AND install_id NOT IN (SELECT install_id FROM installs)"
        )
        found.append(Unfit(NO_DOOR, "install_id IN (SELECT install_id FROM unknown_doors)"))
    if record in _HANGS_ON_CREW:
        found.append(
            Unfit(NO_CREW, "EXISTS (SELECT 1 FROM crews) AND crew NOT IN (SELECT crew FROM crews)"),
        )
    days = [column.name for column in record.columns if column.is_required and column.kind == DAY]
    found += [Unfit(TOO_LATE, f"\"{name}\" > DATE '{last_day}'") for name in days]
    if record is READINGS:
        found.append(Unfit(NO_LENGTH, '"value" IS NULL'))
    return found


def _apply(connection: "duckdb.DuckDBPyConnection", record: Record, unfit: Unfit) -> int:
    """Rows whose state changed. A row unfit for two reasons keeps the first; freed, it is judged by the second."""
    table = rows_table(record)
    freed = f"SET state = {CURRENT} WHERE {LIVE} AND state = {unfit.state} AND NOT ({unfit.condition})"
    held = f"SET state = {unfit.state} WHERE {LIVE} AND state IN {FIT} AND ({unfit.condition})"
    (n_freed,), (n_held,) = (one_row(connection, f"UPDATE {table} {change}") for change in (freed, held))
    return int(n_freed + n_held)


def _fill_leans(connection: "duckdb.DuckDBPyConnection") -> int:
    """Makes leans without a length of their own millimetres over the door's; without a known length they stay null."""
    connection.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE lean_lengths AS
        SELECT r.rowid AS id, {DOOR_LENGTH} AS length_mm, {_PER_MM} * {DOOR_LENGTH} AS lean_mm,
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
    return int(n_filled)
