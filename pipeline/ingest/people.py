"""Keeps people.duckdb in step with the records: personal cells of rows that may count, and which of them do now.

It is written before the records' transaction ends and put right after it, so a stop in between is mended next time.
"""

from typing import TYPE_CHECKING

from pipeline.ingest.store import CURRENT, PEOPLE_TABLES

if TYPE_CHECKING:
    import duckdb


def put_people_right(connection: "duckdb.DuckDBPyConnection") -> None:
    """Forgets the personal cells of loads that are gone or replaced, and marks those of current rows."""
    for record, table in PEOPLE_TABLES.items():
        connection.execute("BEGIN")
        connection.execute(f"DELETE FROM {table} WHERE load NOT IN (SELECT load FROM loads WHERE replaced_in IS NULL)")
        is_current = (
            f'EXISTS (SELECT 1 FROM {record}_rows AS r WHERE r.load = p.load AND r."row" = p."row" '
            f"AND r.state = {CURRENT})"
        )
        connection.execute(f"UPDATE {table} AS p SET is_current = {is_current} WHERE is_current <> {is_current}")
        connection.execute("COMMIT")
