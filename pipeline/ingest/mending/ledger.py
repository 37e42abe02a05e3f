"""The ledger of corrections: added to, superseded, never taken from.

A correction is known by where its cell stands: record, file, sheet, row key, column. It is in force until a later one
of the same cell, or a delivery in which the file itself says something else in that row.
"""

import hashlib
import json
from dataclasses import astuple, dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.history.store import one_row, with_frame

if TYPE_CHECKING:
    import duckdb

LATER, FILE = "a later correction", "the file, delivered with this row changed"

Texts = dict[str, str]

_ADDED = {
    "correction": pl.Int32,
    **dict.fromkeys(("record", "file", "sheet"), pl.String),
    "row_key": pl.Int64,
    **dict.fromkeys(("heading", "column", "before", "after", "who", "line", "content_hash"), pl.String),
}
_SAME_ROW = "c.record = a.record AND c.file = a.file AND c.sheet IS NOT DISTINCT FROM a.sheet AND c.row_key = a.row_key"
# What the file says in a row, where a correction of the same row and content knows it already.
_SOURCES = f"""
    CREATE OR REPLACE TEMP TABLE added_sources AS
    SELECT a.correction, max(c.source) AS source FROM added AS a JOIN corrections AS c
        ON {_SAME_ROW} AND c.content_hash = a.content_hash AND c.superseded_by IS DISTINCT FROM '{FILE}'
    GROUP BY a.correction
"""
_OVERTAKEN = f"""
    UPDATE corrections AS c SET superseded_at = ?, superseded_by = ? FROM added AS a
    WHERE {_SAME_ROW} AND c."column" = a."column" AND c.superseded_at IS NULL
"""


@dataclass(frozen=True)
class Place:
    """Where a row stands: its record, file, sheet and the key of its row."""

    record: str
    file: str
    sheet: str | None
    key: int


@dataclass(frozen=True)
class Change:
    """A cell as a line of the workbook showed it, and as a person left it.

    line          the mark of the line that showed it
    heading       the firm's own heading over the value, in a sheet with a column for every reading
    content_hash  of the file that the line was made from
    """

    place: Place
    heading: str | None
    column: str
    before: str | None
    after: str | None
    who: str
    line: str
    content_hash: str


@dataclass(frozen=True)
class Correction:
    """A correction in force.

    source  what the file says in its row (None until it was first laid over it)
    shown   what the line of the workbook showed of the row
    """

    number: int
    place: Place
    column: str
    before: str | None
    after: str | None
    content_hash: str
    source: Texts | None
    shown: Texts


def add_changes(connection: "duckdb.DuckDBPyConnection", changes: list[Change], now: datetime) -> int:
    """Adds what is not in the ledger yet; how many that is. A line read twice says the same once.

    changes  no two of the same cell
    """
    known = set(connection.execute('SELECT line, "column", "after" FROM corrections').fetchall())
    added = [change for change in changes if (change.line, change.column, change.after) not in known]
    if not added:
        return 0
    (last,) = one_row(connection, "SELECT coalesce(max(correction), 0) FROM corrections")
    rows = [(last + number, *astuple(change.place), *astuple(change)[1:]) for number, change in enumerate(added, 1)]
    frame = pl.DataFrame(rows, schema=_ADDED, orient="row")
    with_frame(connection, frame, "CREATE OR REPLACE TEMP TABLE added AS FROM incoming")
    connection.execute(_SOURCES)
    connection.execute(_OVERTAKEN, [now, LATER])
    connection.execute(
        "INSERT INTO corrections BY NAME SELECT a.*, ?::TIMESTAMP AS corrected_at, s.source FROM added AS a "
        "LEFT JOIN added_sources AS s USING (correction) ORDER BY correction",
        [now],
    )
    return len(added)


def in_force(connection: "duckdb.DuckDBPyConnection", record: str, file: str) -> list[Correction]:
    """The corrections of a file that are in force, the oldest first."""
    rows = connection.execute(
        'SELECT c.correction, c.sheet, c.row_key, c."column", c."before", c."after", c.content_hash, c.source, '
        "coalesce(s.cells, '{}') FROM corrections AS c LEFT JOIN shown_lines AS s ON s.line = c.line "
        "WHERE c.record = ? AND c.file = ? AND c.superseded_at IS NULL ORDER BY c.correction",
        [record, file],
    ).fetchall()
    return [
        Correction(
            *(number, Place(record, file, sheet, key), column, before, after),
            *(content_hash, None if source is None else json.loads(source), json.loads(shown)),
        )
        for number, sheet, key, column, before, after, content_hash, source, shown in rows
    ]


def mended_by(connection: "duckdb.DuckDBPyConnection", record: str, file: str) -> str:
    """A short hash of the corrections of a file that are in force; empty where there are none."""
    cells = [(one.place.sheet, one.place.key, one.column, one.after) for one in in_force(connection, record, file)]
    return hashlib.sha256(repr(sorted(cells, key=repr)).encode()).hexdigest()[:16] if cells else ""


def anchor(connection: "duckdb.DuckDBPyConnection", sources: dict[int, Texts]) -> None:
    """Notes what the file says in the rows of corrections, by their number."""
    rows = [(number, as_json(source)) for number, source in sources.items()]
    frame = pl.DataFrame(rows, schema={"number": pl.Int32, "said": pl.String}, orient="row")
    with_frame(
        connection, frame, "UPDATE corrections SET source = i.said FROM incoming AS i WHERE correction = i.number"
    )


def move(connection: "duckdb.DuckDBPyConnection", moved: dict[int, int]) -> None:
    """Notes that the rows of corrections, by their number, stand under another key now."""
    frame = pl.DataFrame(list(moved.items()), schema={"number": pl.Int32, "key": pl.Int64}, orient="row")
    with_frame(
        connection, frame, "UPDATE corrections SET row_key = i.key FROM incoming AS i WHERE correction = i.number"
    )


def supersede(connection: "duckdb.DuckDBPyConnection", numbers: set[int], by: str, now: datetime) -> None:
    """Takes corrections out of force; they stay in the ledger with what supersedes them."""
    connection.execute(
        "UPDATE corrections SET superseded_at = ?, superseded_by = ? WHERE list_contains(?, correction)",
        [now, by, sorted(numbers)],
    )


def as_json(texts: Texts) -> str:
    """Texts by column as JSON, the same for the same texts."""
    return json.dumps(texts, ensure_ascii=False, sort_keys=True)
