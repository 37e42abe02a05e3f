"""What a person decided on the review sheet: read before linking, kept in `link_reviews`, and it wins.

A decision stays in force when the sheet is gone. A cell that names no door we know is told and changes nothing.
"""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.files.workbook import Unreadable, opened_workbook
from pipeline.ingest.linking.decisions import MATCHES
from pipeline.ingest.linking.review_sheet import ANSWER, NO_DOOR, REVIEW_SHEET

if TYPE_CHECKING:
    import duckdb


def take_reviews(connection: "duckdb.DuckDBPyConnection", out: Path, today: date) -> list[str]:
    """Adds the decisions of the review sheet to the ledger. Returns a sentence for each that cannot be taken."""
    try:
        answers = list(_answers(out / REVIEW_SHEET))
    except (Unreadable, OSError):
        return [f"{REVIEW_SHEET} cannot be read and no decision was taken from it; save it as .xlsx and run again."]
    doors = {door for (door,) in connection.execute("SELECT install_id FROM installs").fetchall()}
    callbacks = {one for (one,) in connection.execute("SELECT callback_id FROM callbacks").fetchall()}
    notes: list[str] = []
    decided: dict[str, str | None] = {}
    for row, callback, answer in answers:
        reason = _refusal(callback, answer, doors, callbacks, decided)
        if reason:
            notes.append(f"{REVIEW_SHEET}, row {row}, {ANSWER}: {reason}")
        else:
            decided[callback] = None if answer == NO_DOOR else answer
    _keep(connection, decided, today)
    return notes


def with_reviews(connection: "duckdb.DuckDBPyConnection", matches: pl.DataFrame) -> pl.DataFrame:
    """The matches with the decisions of a person in place of what was worked out."""
    rows = connection.execute(
        "SELECT callback_id, install_id FROM link_reviews "
        "WHERE install_id IS NULL OR install_id IN (SELECT install_id FROM installs) ORDER BY callback_id"
    ).fetchall()
    decided = pl.DataFrame(
        [(callback, door, None if door is None else 1.0, None, None, None, True) for callback, door in rows],
        schema=MATCHES,
        orient="row",
    )
    return _instead(_instead(matches, _pinned(connection)), decided)


def _pinned(connection: "duckdb.DuckDBPyConnection") -> pl.DataFrame:
    """What was found by names that have been erased since, as far as callback and door are there."""
    rows = connection.execute(
        f"SELECT {', '.join(MATCHES)} FROM link_pins "
        "WHERE callback_id IN (SELECT callback_id FROM callbacks WHERE install_id IS NULL) "
        "AND (install_id IS NULL OR install_id IN (SELECT install_id FROM installs)) ORDER BY callback_id"
    ).fetchall()
    return pl.DataFrame(rows, schema=MATCHES, orient="row")


def _instead(matches: pl.DataFrame, others: pl.DataFrame) -> pl.DataFrame:
    """The matches, with the others in the place of theirs."""
    kept = matches.join(others, on="callback_id", how="anti", maintain_order="left")
    return pl.concat([kept, others]).sort("callback_id")


def _answers(path: Path) -> Iterator[tuple[int, str, str]]:
    """Row, callback and answer of every row of the sheet that is filled in."""
    if not path.is_file():
        return
    with opened_workbook(path) as (workbook, names, _):
        rows = workbook.get_sheet_by_name(names[0]).to_python() if names else []
    if not rows:
        return
    heading = [_text(cell) for cell in rows[0]]
    if "callback_id" not in heading or ANSWER not in heading:
        raise Unreadable("its columns were renamed")
    callback_at, answer_at = heading.index("callback_id"), heading.index(ANSWER)
    for number, cells in enumerate(rows[1:], 2):
        if _text(cells[answer_at]):
            yield number, _text(cells[callback_at]), _text(cells[answer_at])


def _text(cell: object) -> str:
    if isinstance(cell, float) and cell.is_integer():
        cell = int(cell)
    text = str(cell).strip().removeprefix("'")
    return NO_DOOR if text.lower() == NO_DOOR else text


def _refusal(
    callback: str, answer: str, doors: set[str], callbacks: set[str], decided: dict[str, str | None]
) -> str | None:
    if callback not in callbacks:
        return f"{callback} is no callback on record; copy its number from the callbacks."
    if answer != NO_DOOR and answer not in doors:
        return f"{answer} is no door on record; write one of its possible doors, or {NO_DOOR}."
    if callback in decided and (decided[callback] or NO_DOOR) != answer:
        return f"{callback} has another door above; a callback has one door, keep one of the two."
    return None


def _keep(connection: "duckdb.DuckDBPyConnection", decided: dict[str, str | None], today: date) -> None:
    known = dict(connection.execute("SELECT callback_id, install_id FROM link_reviews").fetchall())
    for callback, door in decided.items():
        if callback in known and known[callback] == door:
            continue
        connection.execute("DELETE FROM link_reviews WHERE callback_id = ?", [callback])
        connection.execute("INSERT INTO link_reviews VALUES (?, ?, ?)", [callback, door, today])
