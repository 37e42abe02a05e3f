"""Links callbacks that name no door: the table of contents of linking.

Runs after the records are in. A callback with a known install_id is left alone; where all have one, nothing is
compared and splink is not even loaded. Unchanged inputs are not linked again.
"""

import hashlib
from collections.abc import Mapping
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.linking.decisions import CANDIDATES, candidates_of, doubtful_candidates, matches_of
from pipeline.ingest.linking.features import callback_features, door_features
from pipeline.ingest.linking.job_numbers import JOB_OF_DOOR, job_keys
from pipeline.ingest.linking.keyed import without_sound_job
from pipeline.ingest.linking.review_sheet import REVIEW_SHEET, doubts_told, write_review_sheet
from pipeline.ingest.linking.reviews import take_reviews, with_reviews
from pipeline.ingest.linking.tables import (
    inputs_of,
    lay_out_links,
    made_from,
    note_sheet,
    write_job_numbers,
    write_links,
)

if TYPE_CHECKING:
    import duckdb


def link_callbacks(connection: "duckdb.DuckDBPyConnection", out: Path, aliases: Mapping[str, str]) -> list[str]:
    """Makes `job_numbers`, `callback_matches` and `link_candidates` anew where what they are made from changed.

    connection  as `open_store` gives it, outside a transaction
    out         where the review sheet lies: read first, written anew after
    aliases     the firm's other numbers of a job, and the job's own
    Returns sentences worth telling.
    """
    lay_out_links(connection)
    notes = take_reviews(connection, out, date.today())
    inputs = f"{inputs_of(connection)} {sorted(aliases.items())} {_method()}"
    if made_from(connection) != inputs:
        _link_anew(connection, out, aliases, inputs)
    if made_from(connection, "review_sheet_state") != inputs or not (out / REVIEW_SHEET).is_file():
        return notes + _sheet_anew(connection, out, inputs)
    return notes + doubts_told(connection)  # as long as they wait, every run says so


def _link_anew(connection: "duckdb.DuckDBPyConnection", out: Path, aliases: Mapping[str, str], inputs: str) -> None:
    connection.execute("BEGIN")
    write_job_numbers(connection, _keys(connection, aliases))
    matches, candidates = _linked(connection, out / "temporary")
    write_links(connection, matches, candidates, inputs)
    connection.execute("COMMIT")


def _sheet_anew(connection: "duckdb.DuckDBPyConnection", out: Path, inputs: str) -> list[str]:
    """Writes the review sheet; one that could not be written is tried again by the next run."""
    try:
        notes = write_review_sheet(connection, out)
    except PermissionError:
        return [f"{REVIEW_SHEET} is open in another program and was not written anew; close it and run again."]
    note_sheet(connection, inputs)
    return notes


def _linked(connection: "duckdb.DuckDBPyConnection", temporary: Path) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Matches with the reviews in place, and the candidates of those that are still in doubt."""
    waiting, candidates = _scored(connection, temporary)
    matches = with_reviews(connection, matches_of(candidates, waiting))
    return matches, doubtful_candidates(candidates, matches)


def _scored(connection: "duckdb.DuckDBPyConnection", temporary: Path) -> tuple[pl.Series, pl.DataFrame]:
    """The callbacks that no key links, and the doors that each may belong to."""
    nothing = pl.Series([], dtype=pl.String), pl.DataFrame(schema=CANDIDATES)
    callbacks = callback_features(connection)
    if callbacks.is_empty():
        return nothing
    doors = door_features(connection)
    waiting = without_sound_job(callbacks, doors)
    if waiting.is_empty():
        return nothing
    from pipeline.ingest.linking.scores import scored_pairs  # splink is loaded only where it is needed

    return waiting["unique_id"], candidates_of(scored_pairs(waiting, doors, temporary))


def _keys(connection: "duckdb.DuckDBPyConnection", aliases: Mapping[str, str]) -> dict[str, str]:
    """Keys of the job numbers as written; none are looked for where every callback names its door."""
    named = "SELECT 1 FROM installs AS i WHERE i.install_id = c.install_id"
    if not connection.execute(f"SELECT 1 FROM callbacks AS c WHERE NOT EXISTS ({named}) LIMIT 1").fetchall():
        return {}

    def written(column: str, record: str, where: str = "true") -> list[str]:
        sql = f"SELECT DISTINCT {column} AS text FROM {record} WHERE text IS NOT NULL AND {where} ORDER BY text"
        return [text for (text,) in connection.execute(sql).fetchall()]

    numbers = written("install_id", "installs", f"job_no IS NULL AND {JOB_OF_DOOR} IS NOT NULL")
    return job_keys(written(JOB_OF_DOOR, "installs"), written("job_no", "callbacks"), aliases, numbers)


def _method() -> str:
    """A hash of the modules that link and of the library that scores: a changed method links anew."""
    texts = [path.read_bytes() for path in sorted(Path(__file__).parent.glob("*.py"))]
    return hashlib.sha256(b"".join([version("splink").encode(), *texts])).hexdigest()[:16]
