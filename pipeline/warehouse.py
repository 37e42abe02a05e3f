"""Opens the databases of an output folder, keeps them within memory, and locks the folder for one run at a time.

Knows where the files lie and how DuckDB is set up. Never knows what a table means.
"""

import os
import re
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from pipeline.errors import UserError

if TYPE_CHECKING:
    import duckdb

MEMORY_VARIABLE = "FITBACK_MEMORY"
DEFAULT_MEMORY = "600MB"
LOCK_WAIT_SECONDS = 5.0
VIEWS_AND_RESULTS = "memory.main,results.main"


def connect(temp_folder: Path | None = None) -> "duckdb.DuckDBPyConnection":
    """A DuckDB connection in memory, silent, limited to FITBACK_MEMORY (600MB), spilling into `temp_folder`.

    Rows come in no set order: whoever reads a table orders it.
    """
    import duckdb

    connection = duckdb.connect(":memory:")
    connection.execute("SET enable_progress_bar = false")
    connection.execute("SET preserve_insertion_order = false")
    _limit_memory(connection)
    if temp_folder is not None:
        connection.execute(f"SET temp_directory = '{escaped(temp_folder)}'")
    return connection


def open_for_build(records: Path, target: Path, temp_folder: Path) -> "duckdb.DuckDBPyConnection":
    """A connection that reads `records` and writes a new `target`, attached as `records` and `results`.

    Every view of the records is a view of the same name in the connection's own memory.
    """
    connection = connect(temp_folder)
    # The file is new and written once: rewriting tables made before, each time another is done, would only cost time.
    connection.execute("SET max_vacuum_tasks = 0")
    connection.execute("SET wal_autocheckpoint = '1TB'")
    attach(connection, target, "results", read_only=False)
    attach(connection, records, "records")
    mirror_views(connection)
    return connection


def row_counts(results: "duckdb.DuckDBPyConnection") -> dict[str, int]:
    """How many rows each table of `results` has; counted, since what the database estimates may be off."""
    found = results.execute("SELECT table_name FROM duckdb_tables() WHERE database_name = 'results'").fetchall()
    names = [name for (name,) in found]
    counts = ", ".join(f'(SELECT count(*) FROM results.main."{name}")' for name in names)
    return dict(zip(names, results.execute(f"SELECT {counts}").fetchall()[0], strict=True)) if names else {}


def open_results(path: Path) -> "duckdb.DuckDBPyConnection":
    """A read-only connection whose unqualified names are the tables of one results.duckdb.

    Raises UserError where the file is missing or held by another program.
    """
    if not path.is_file():
        raise UserError(f"{path} does not exist; make it with fitback run first.")
    connection = connect()
    connection.execute("SET preserve_insertion_order = true")
    attach(connection, path, "results")
    connection.execute("SET search_path = 'results.main'")
    return connection


def attach(connection: "duckdb.DuckDBPyConnection", path: Path, name: str, read_only: bool = True) -> None:
    """Attaches a database file. Raises UserError, one sentence, where another program holds it."""
    import duckdb

    mode = " (READ_ONLY)" if read_only else ""
    try:
        connection.execute(f"ATTACH '{escaped(path)}' AS {name}{mode}")
    except duckdb.IOException as error:
        if "lock" not in str(error).lower():
            raise
        raise UserError(f"{path} is open in another program{_holder(error)}; close it there and try again.") from None


def mirror_views(connection: "duckdb.DuckDBPyConnection") -> None:
    """Makes each record view, `files` and `rejections` readable by its bare name, and sets the search path."""
    from pipeline.graph import RECORD_SOURCES

    for name in RECORD_SOURCES:
        connection.execute(f"CREATE VIEW memory.main.{name} AS FROM records.main.{name}")
    connection.execute(f"SET search_path = '{VIEWS_AND_RESULTS}'")


@contextmanager
def locked(folder: Path, wait_seconds: float = LOCK_WAIT_SECONDS) -> Iterator[None]:
    """Holds the output folder for this process; the lock ends with the process, however it ends.

    Raises UserError when another run still holds it after `wait_seconds`.
    """
    until = time.monotonic() + wait_seconds
    while (file := _held(folder / ".lock")) is None:
        if time.monotonic() >= until:
            raise UserError(f"Another fitback run is writing into {folder}; wait until it ends, then try again.")
        time.sleep(0.1)
    with file:
        yield


def memory_limit() -> str:
    """How much memory DuckDB may take, as it is told."""
    return os.environ.get(MEMORY_VARIABLE, DEFAULT_MEMORY)


def escaped(path: Path) -> str:
    """The path as it stands inside single quotes of SQL."""
    return str(path).replace("'", "''")


def escaped_to_read(path: Path) -> str:
    """The same for a function that reads files, to which a plain * ? or [ in a name would stand for other files."""
    return re.sub(r"([*?[])", r"[\1]", escaped(path))


def _limit_memory(connection: "duckdb.DuckDBPyConnection") -> None:
    import duckdb

    try:
        connection.execute("SET memory_limit = ?", [memory_limit()])
    except duckdb.Error:
        raise UserError(f"{MEMORY_VARIABLE} is '{memory_limit()}'; write an amount such as 600MB or 2GB.") from None


def _holder(error: Exception) -> str:
    found = re.search(r"PID (\d+)", str(error))
    return f" (process {found[1]})" if found else ""


def _held(path: Path) -> BinaryIO | None:
    """The lock file, held; None while another holds it, or has taken its folder away meanwhile."""
    path.parent.mkdir(parents=True, exist_ok=True)
    file = path.open("ab")
    if _try_lock(file) and _is_at(file, path):
        return file
    file.close()
    return None


def _is_at(file: BinaryIO, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(file.fileno()), path.stat())
    except FileNotFoundError:
        return False


def _try_lock(file: BinaryIO) -> bool:
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
