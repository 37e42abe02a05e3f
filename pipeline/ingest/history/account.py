"""The account: for every file, rows read = taken in + set aside + exact repeats. Checked, never assumed."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pipeline.ingest.history.store import REPEAT, SET_ASIDE

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class Account:
    """Rows of one record or file."""

    files: int
    read: int
    taken_in: int
    set_aside: int
    repeats: int


@dataclass(frozen=True)
class FileLine:
    """One file and what became of it; its rows are counted from the loads in force."""

    record: str | None
    file: str
    status: str
    reason: str | None = None


def write_files(connection: "duckdb.DuckDBPyConnection", lines: list[FileLine]) -> None:
    """Fills `files` anew, with the account of each. Raises AssertionError where an account does not close."""
    _count_loads(connection)
    connection.execute("DELETE FROM files")
    for line in lines:
        connection.execute(
            """
            INSERT INTO files
            SELECT $record, $file, $status, $reason, coalesce(sum(rows_read), 0), coalesce(sum(rows_taken_in), 0),
                coalesce(sum(rows_set_aside), 0), coalesce(sum(rows_repeated), 0), max(content_hash), max("version")
            FROM load_counts WHERE record = $record AND file = $file
            """,
            vars(line),
        )
    wrong = connection.execute(
        "SELECT file FROM files WHERE rows_read <> rows_taken_in + rows_set_aside + rows_repeated"
    ).fetchall()
    assert not wrong, f"the account of {len(wrong)} files does not close"


def accounts(connection: "duckdb.DuckDBPyConnection") -> dict[str, Account]:
    """The account of every record that has a file."""
    rows = connection.execute(
        """
        SELECT record, count(*) FILTER (WHERE status <> 'refused'), sum(rows_read)::BIGINT,
            sum(rows_taken_in)::BIGINT, sum(rows_set_aside)::BIGINT, sum(rows_repeated)::BIGINT
        FROM files WHERE record IS NOT NULL GROUP BY record ORDER BY record
        """
    ).fetchall()
    return {record: Account(*counts) for record, *counts in rows}


def _count_loads(connection: "duckdb.DuckDBPyConnection") -> None:
    """Rows of each load in force: those read, those refused and those kept, less what the marks say of the kept."""
    connection.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE load_counts AS
        SELECT l.record, l.file, l.content_hash, l."version", l.rows_read,
            l.rows_kept - coalesce(m.n_out, 0) - coalesce(m.n_repeats, 0) AS rows_taken_in,
            l.rows_refused + coalesce(m.n_out, 0) AS rows_set_aside,
            coalesce(m.n_repeats, 0) AS rows_repeated
        FROM loads AS l LEFT JOIN (
            SELECT load, count(*) FILTER (WHERE state IN {SET_ASIDE}) AS n_out,
                count(*) FILTER (WHERE state = {REPEAT}) AS n_repeats
            FROM marks GROUP BY load
        ) AS m ON m.load = l.load
        WHERE l.replaced_in IS NULL
        """
    )
