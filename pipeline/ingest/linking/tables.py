"""The tables that linking leaves in records.duckdb, without a name or an address in them.

`job_numbers` gives every job number as written its key; `callback_matches` has a row for every callback that linking
decided; `link_candidates` lists the doors that the doubtful ones may belong to; `link_reviews` what a person decided;
`link_pins` what was found by names that have been erased since.
"""

from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.history.store import with_frame

if TYPE_CHECKING:
    import duckdb

_TABLES = """
    CREATE TABLE IF NOT EXISTS link_state (made_from TEXT);
    CREATE TABLE IF NOT EXISTS review_sheet_state (made_from TEXT);
    CREATE TABLE IF NOT EXISTS job_numbers (job_no TEXT, job_key TEXT);
    CREATE TABLE IF NOT EXISTS callback_matches_made (
        callback_id TEXT, install_id TEXT, probability DOUBLE, site TEXT, site_doors INTEGER,
        site_probability DOUBLE, is_reviewed BOOLEAN);
    CREATE TABLE IF NOT EXISTS link_candidates_made (
        callback_id TEXT, install_id TEXT, site TEXT, probability DOUBLE, site_probability DOUBLE,
        site_doors INTEGER, why TEXT);
    CREATE TABLE IF NOT EXISTS link_pins (
        callback_id TEXT, install_id TEXT, probability DOUBLE, site TEXT, site_doors INTEGER,
        site_probability DOUBLE, is_reviewed BOOLEAN);
    CREATE TABLE IF NOT EXISTS link_reviews (callback_id TEXT, install_id TEXT, reviewed_on DATE);
"""
# What was made for callbacks that are not current any more is left out until it is made anew.
_VIEWS = """
    CREATE OR REPLACE VIEW callback_matches AS FROM callback_matches_made AS m
        SEMI JOIN callbacks AS c ON c.callback_id = m.callback_id AND c.install_id IS NULL;
    CREATE OR REPLACE VIEW link_candidates AS FROM link_candidates_made AS k
        SEMI JOIN callbacks AS c ON c.callback_id = k.callback_id AND c.install_id IS NULL;
"""
# Names and addresses enter as one hash of all rows: it says that something changed, never what.
_INPUTS = """
    SELECT count(*), bit_xor(hash(i.install_id, i.job_no, i.leaves, i.width_mm, i.fitted_on, i.handed_over_on,
        i.removed_on, p.customer, p.address, p.postcode))
    FROM installs AS i LEFT JOIN people.install_people AS p USING (install_id)
    UNION ALL
    SELECT count(*), bit_xor(hash(c.callback_id, c.job_no, c.reported_on, p.customer, p.address, p.postcode, p.note))
    FROM callbacks AS c LEFT JOIN people.callback_people AS p USING (callback_id) WHERE c.install_id IS NULL
    UNION ALL
    SELECT count(*), bit_xor(hash(callback_id, install_id)) FROM link_reviews
"""


def lay_out_links(connection: "duckdb.DuckDBPyConnection") -> None:
    """Makes the tables and views where they are not there yet."""
    connection.execute(_TABLES)
    connection.execute(_VIEWS)


def inputs_of(connection: "duckdb.DuckDBPyConnection") -> str:
    """A text that changes when anything that linking reads from the records does."""
    return repr(connection.execute(_INPUTS).fetchall())


def made_from(connection: "duckdb.DuckDBPyConnection", state: str = "link_state") -> str | None:
    """What the links, or the review sheet (`review_sheet_state`), were made from; None before the first time."""
    rows = connection.execute(f"SELECT made_from FROM {state}").fetchall()
    return str(rows[0][0]) if rows else None


def pin_links(connection: "duckdb.DuckDBPyConnection", callback_ids: list[str]) -> None:
    """Keeps what was found for these callbacks, whose names can be compared no more."""
    lay_out_links(connection)
    chosen = pl.DataFrame({"callback_id": callback_ids}, schema={"callback_id": pl.String})
    among = "SELECT callback_id FROM incoming ANTI JOIN link_pins USING (callback_id)"
    with_frame(
        connection,
        chosen,
        f"INSERT INTO link_pins BY NAME FROM callback_matches WHERE callback_id IN ({among}) AND NOT is_reviewed",
    )


def keep_as_linked(connection: "duckdb.DuckDBPyConnection", before: str) -> None:
    """After names were erased: no other callback is linked anew for that alone. before: what `inputs_of` said."""
    after = inputs_of(connection)
    for state in ("link_state", "review_sheet_state"):
        connection.execute(
            f"UPDATE {state} SET made_from = ? || substr(made_from, ?) WHERE starts_with(made_from, ?)",
            [after, len(before) + 1, before],
        )


def note_sheet(connection: "duckdb.DuckDBPyConnection", inputs: str) -> None:
    """Notes that the review sheet shows what was made from these inputs."""
    _replace(connection, "review_sheet_state", pl.DataFrame({"made_from": [inputs]}))


def write_job_numbers(connection: "duckdb.DuckDBPyConnection", keys: dict[str, str]) -> None:
    """Replaces the keys of the job numbers."""
    frame = pl.DataFrame(sorted(keys.items()), schema={"job_no": pl.String, "job_key": pl.String}, orient="row")
    _replace(connection, "job_numbers", frame)


def write_links(
    connection: "duckdb.DuckDBPyConnection", matches: pl.DataFrame, candidates: pl.DataFrame, inputs: str
) -> None:
    """Replaces matches and candidates and notes what they were made from."""
    _replace(connection, "callback_matches_made", matches)
    _replace(connection, "link_candidates_made", candidates)
    _replace(connection, "link_state", pl.DataFrame({"made_from": [inputs]}))


def _replace(connection: "duckdb.DuckDBPyConnection", table: str, frame: pl.DataFrame) -> None:
    connection.execute(f"DELETE FROM {table}")
    with_frame(connection, frame, f"INSERT INTO {table} BY NAME FROM incoming")
