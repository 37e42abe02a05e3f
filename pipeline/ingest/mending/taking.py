"""Takes what a person corrected in the set-aside workbook into the ledger, before the files are read."""

import getpass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.errors import UserError
from pipeline.ingest.files.headers import Unreadable
from pipeline.ingest.history.store import one_row
from pipeline.ingest.mending.book import books_in, hash_of, keep_not_taken
from pipeline.ingest.mending.book_reading import Found, read_changes
from pipeline.ingest.mending.ledger import add_changes
from pipeline.warehouse import attach

if TYPE_CHECKING:
    import duckdb

_BROUGHT = ("corrections", "shown_lines")


def take_corrections(connection: "duckdb.DuckDBPyConnection", out: Path) -> list[str]:
    """Adds what was corrected in the workbooks of an output folder to the ledger. Returns sentences worth telling.

    A workbook of which something cannot be taken is copied beside itself, so that nothing typed is lost.
    """
    notes: list[str] = []
    for book in _saved(connection, out):
        found = _read(connection, book)
        add_changes(connection, found.changes, datetime.now())
        if found.notes:
            notes += [*found.notes, f"{book.name} as it was saved is kept as {keep_not_taken(book)}."]
    return notes


def bring_corrections(connection: "duckdb.DuckDBPyConnection", seen: Path) -> list[str]:
    """The same into a store of its own, which is given the ledger of `seen` first; leaves `seen` as it is."""
    if not (seen / "records.duckdb").is_file():
        return []
    try:
        attach(connection, seen / "records.duckdb", "seen")
    except UserError as error:
        return [f"Corrections are not looked at: {error}"]
    names = "SELECT table_name FROM duckdb_tables() WHERE database_name = 'seen'"
    if set(_BROUGHT) <= {name for (name,) in connection.execute(names).fetchall()}:
        for table in _BROUGHT:
            connection.execute(f"INSERT INTO {table} BY NAME FROM seen.{table}")
    connection.execute("DETACH seen")
    notes: list[str] = []
    for book in books_in(seen):
        found = _read(connection, book)
        add_changes(connection, found.changes, datetime.now())
        notes += found.notes
    return notes


def _saved(connection: "duckdb.DuckDBPyConnection", out: Path) -> list[Path]:
    """The workbooks that are not as a run wrote them."""
    written = set(connection.execute("SELECT name, file_hash FROM set_aside_book").fetchall())
    return [book for book in books_in(out) if (book.name, hash_of(book)) not in written]


def _read(connection: "duckdb.DuckDBPyConnection", book: Path) -> Found:
    try:
        return read_changes(connection, book, user_name())
    except (Unreadable, OSError):
        return Found(notes=[f"{book.name} cannot be read, nothing was taken from it; save it as .xlsx and run again."])


def waiting_note(connection: "duckdb.DuckDBPyConnection", vanished: tuple[tuple[str, str], ...]) -> list[str]:
    """What to say of corrections in files that are not in the folder any more."""
    notes = []
    for record, file in vanished:
        sql = (
            "SELECT count(*) FROM corrections AS c WHERE c.record = ? AND c.file = ? AND c.superseded_at IS NULL "
            "AND c.source IS NULL"
        )
        (count,) = one_row(connection, sql, [record, file])
        if count:
            what = "1 correction waits" if count == 1 else f"{count:,} corrections wait"
            notes.append(f"{what} for {file}, which is not in the folder any more; put it back and run again.")
    return notes


def user_name() -> str:
    """The login name of whoever runs this; `unknown` where the system tells none."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "unknown"
