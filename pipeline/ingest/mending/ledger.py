"""The ledger of corrections: added to, superseded, never taken from.

A correction is known by where its cell stands: record, file, sheet, row key, column. It is in force until a later one
of the same cell, or a delivery in which the file itself says something else in that row.
"""

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from pipeline.ingest.store import one_row

if TYPE_CHECKING:
    import duckdb

LATER, FILE = "a later correction", "the file, delivered with this row changed"

Texts = dict[str, str]


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
    """A correction in force. source: what the file says in its row (None until it was first laid over it)."""

    number: int
    place: Place
    column: str
    before: str | None
    after: str | None
    content_hash: str
    source: Texts | None


def add_changes(connection: "duckdb.DuckDBPyConnection", changes: list[Change], now: datetime) -> int:
    """Adds what is not in the ledger yet; how many that is. A line read twice says the same once."""
    known = set(connection.execute('SELECT line, "column", "after" FROM corrections').fetchall())
    added = [change for change in changes if (change.line, change.column, change.after) not in known]
    (last,) = one_row(connection, "SELECT coalesce(max(correction), 0) FROM corrections")
    for number, change in enumerate(added, last + 1):
        source = _source_of(connection, change)
        _supersede_same_cell(connection, change, now)
        place = change.place
        connection.execute(
            "INSERT INTO corrections VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, NULL, NULL)",
            [
                *(number, now, change.who, place.record, place.file, place.sheet, place.key, change.heading),
                *(change.column, change.before, change.after, change.line, change.content_hash, source),
            ],
        )
    return len(added)


def in_force(connection: "duckdb.DuckDBPyConnection", record: str, file: str) -> list[Correction]:
    """The corrections of a file that are in force, the oldest first."""
    rows = connection.execute(
        'SELECT correction, sheet, row_key, "column", "before", "after", content_hash, source FROM corrections '
        "WHERE record = ? AND file = ? AND superseded_at IS NULL ORDER BY correction",
        [record, file],
    ).fetchall()
    return [
        Correction(
            *(number, Place(record, file, sheet, key), column, before, after),
            *(content_hash, None if source is None else json.loads(source)),
        )
        for number, sheet, key, column, before, after, content_hash, source in rows
    ]


def mended_by(connection: "duckdb.DuckDBPyConnection", record: str, file: str) -> str:
    """A short hash of the corrections of a file that are in force; empty where there are none."""
    cells = [(one.place.sheet, one.place.key, one.column, one.after) for one in in_force(connection, record, file)]
    return hashlib.sha256(repr(sorted(cells, key=repr)).encode()).hexdigest()[:16] if cells else ""


def anchor(connection: "duckdb.DuckDBPyConnection", sources: dict[int, Texts]) -> None:
    """Notes what the file says in the rows of corrections, by their number."""
    for number, source in sources.items():
        connection.execute("UPDATE corrections SET source = ? WHERE correction = ?", [as_json(source), number])


def supersede(connection: "duckdb.DuckDBPyConnection", numbers: set[int], by: str, now: datetime) -> None:
    """Takes corrections out of force; they stay in the ledger with what supersedes them."""
    for number in sorted(numbers):
        connection.execute(
            "UPDATE corrections SET superseded_at = ?, superseded_by = ? WHERE correction = ?", [now, by, number]
        )


def as_json(texts: Texts) -> str:
    """Texts by column as JSON, the same for the same texts."""
    return json.dumps(texts, ensure_ascii=False, sort_keys=True)


def _source_of(connection: "duckdb.DuckDBPyConnection", change: Change) -> str | None:
    """What the file says in the row, where a correction of the same row and content knows it already."""
    place = change.place
    rows = connection.execute(
        "SELECT max(source) FROM corrections WHERE record = ? AND file = ? AND sheet IS NOT DISTINCT FROM ? "
        "AND row_key = ? AND content_hash = ? AND superseded_by IS DISTINCT FROM ?",
        [place.record, place.file, place.sheet, place.key, change.content_hash, FILE],
    ).fetchall()
    source = rows[0][0]
    return None if source is None else str(source)


def _supersede_same_cell(connection: "duckdb.DuckDBPyConnection", change: Change, now: datetime) -> None:
    place = change.place
    found = connection.execute(
        "SELECT correction FROM corrections WHERE record = ? AND file = ? AND sheet IS NOT DISTINCT FROM ? "
        'AND row_key = ? AND "column" = ? AND superseded_at IS NULL',
        [place.record, place.file, place.sheet, place.key, change.column],
    ).fetchall()
    supersede(connection, {number for (number,) in found}, LATER, now)
