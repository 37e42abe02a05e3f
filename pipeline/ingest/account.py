"""The account: for every file, rows read = taken in + set aside + exact repeats. Checked, never assumed."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pipeline.ingest.records import RECORDS
from pipeline.ingest.store import CURRENT, REPEAT, SET_ASIDE, SUPERSEDED, rows_table

if TYPE_CHECKING:
    import duckdb

_EXACT_REPEATS, _TAKEN_IN, _SET_ASIDE = f"= {REPEAT}", f"IN {(CURRENT, SUPERSEDED)}", f"IN {SET_ASIDE}"


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
    _check(connection)


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
    states = " UNION ALL ".join(
        f"""
        SELECT load, count(*) FILTER (WHERE state {_TAKEN_IN}) AS n_in,
            count(*) FILTER (WHERE state {_SET_ASIDE}) AS n_out,
            count(*) FILTER (WHERE state {_EXACT_REPEATS}) AS n_repeats
        FROM {rows_table(record)} WHERE "row" IS NOT NULL GROUP BY load
        """
        for record in RECORDS
    )
    connection.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE load_counts AS
        SELECT l.record, l.file, l.content_hash, l."version", l.rows_read,
            coalesce(s.n_in, 0) AS rows_taken_in,
            l.rows_refused + coalesce(s.n_out, 0) AS rows_set_aside,
            coalesce(s.n_repeats, 0) AS rows_repeated
        FROM loads AS l LEFT JOIN ({states}) AS s ON s.load = l.load
        WHERE l.replaced_in IS NULL
        """
    )


def _check(connection: "duckdb.DuckDBPyConnection") -> None:
    wrong = connection.execute(
        "SELECT file FROM files WHERE rows_read <> rows_taken_in + rows_set_aside + rows_repeated"
    ).fetchall()
    assert not wrong, f"the account of {len(wrong)} files does not close"
