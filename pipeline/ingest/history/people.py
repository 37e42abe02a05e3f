"""Keeps people.duckdb in step with the records: personal cells of rows that may count, and which of them do now.

It is written before the records' transaction ends and put right after it, so a stop in between is mended next time.
"""

from typing import TYPE_CHECKING

from pipeline.ingest.history.lending import lend_personal, take_back_personal
from pipeline.ingest.history.store import PEOPLE_TABLES

if TYPE_CHECKING:
    import duckdb

_IN_FORCE = "SELECT load FROM loads WHERE replaced_in IS NULL"


def put_people_right(connection: "duckdb.DuckDBPyConnection") -> None:
    """Forgets the personal cells of loads that are gone or replaced, marks those of current rows and fills gaps."""
    give_people_back(connection)
    is_current = 'NOT EXISTS (SELECT 1 FROM marks AS m WHERE m.load = p.load AND m."row" = p."row")'
    for table in PEOPLE_TABLES.values():
        connection.execute("BEGIN")
        connection.execute(f"DELETE FROM {table} WHERE load NOT IN ({_IN_FORCE})")
        connection.execute(f"UPDATE {table} AS p SET is_current = {is_current} WHERE is_current <> {is_current}")
        connection.execute("COMMIT")
    connection.execute("BEGIN")
    lend_personal(connection)
    connection.execute("COMMIT")


def give_people_back(connection: "duckdb.DuckDBPyConnection") -> None:
    """Leaves every row only the personal cells of its own, as rows are settled by them."""
    connection.execute("BEGIN")
    take_back_personal(connection)
    connection.execute("COMMIT")
