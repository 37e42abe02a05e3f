"""records.duckdb and people.duckdb: opened, laid out, migrated. Knows the tables, never what a row means."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic, sleep
from typing import TYPE_CHECKING, Any

import polars as pl

from pipeline.errors import UserError
from pipeline.fault_log import out_of_room
from pipeline.ingest.history.mended_tables import MENDING_TABLES, MENDING_VIEWS
from pipeline.ingest.history.migrations import migrate
from pipeline.ingest.records import CALLBACKS, INSTALLS, READINGS, RECORDS, Record
from pipeline.warehouse import attach, connect

if TYPE_CHECKING:
    import duckdb

SCHEMA_VERSION = 6
LOCK_WAIT_SECONDS = 5.0

# States of a row. A row without a mark is current; only current and superseded rows count as taken in.
CURRENT, SUPERSEDED, REPEAT, CONTRADICTS, NO_DOOR, NO_CREW, TOO_LATE, NO_LENGTH = range(8)
STATES = ("current", "superseded", "repeat", "contradicts", "no door", "no crew", "too late", "no length")
SET_ASIDE = (CONTRADICTS, NO_DOOR, NO_CREW, TOO_LATE, NO_LENGTH)
UNFIT = (NO_DOOR, NO_CREW, TOO_LATE, NO_LENGTH)
BY_DELIVERY = (SUPERSEDED, REPEAT, CONTRADICTS)

# Where the personal cells of a record's rows stand.
PEOPLE_TABLES = {INSTALLS.name: "people.install_rows", CALLBACKS.name: "people.callback_rows"}

# Begins the mark that stands for a personal cell that was erased.
ERASED = "(erased) "

_TABLES = """
    CREATE TABLE schema_version ("version" INTEGER);
    CREATE TABLE runs (
        run INTEGER, started_at TIMESTAMP, fitback_version TEXT, catalogue_hash TEXT, settings TEXT,
        as_of DATE, seed INTEGER, records_state TEXT);
    CREATE TABLE loads (
        load INTEGER, record TEXT, file TEXT, sheet TEXT, "version" INTEGER, content_hash TEXT, judged_by TEXT,
        is_large BOOLEAN, rows_read BIGINT, rows_refused BIGINT, rows_kept BIGINT, replaced_in INTEGER);
    CREATE TABLE headings (load INTEGER, place INTEGER, "column" TEXT, heading TEXT);
    CREATE TABLE unread (load INTEGER, heading TEXT, cells BIGINT, state TEXT, reason TEXT);
    CREATE TABLE unread_headings (file TEXT, sheet TEXT, heading TEXT, cells BIGINT, state TEXT, reason TEXT);
    CREATE TABLE marks (load INTEGER, "row" BIGINT, state UTINYINT);
    CREATE TABLE hidden (load INTEGER, "row" BIGINT);
    CREATE TABLE spellings ("column" TEXT, written TEXT, meant TEXT);
    CREATE TABLE door_leans (load INTEGER, "row" BIGINT);
    CREATE TABLE borrowed (record TEXT, load INTEGER, "row" BIGINT, "column" TEXT);
    CREATE TABLE lenders (record TEXT, load INTEGER, "row" BIGINT, of_load INTEGER, of_row BIGINT);
    CREATE TABLE raw_cells (load INTEGER, "row" BIGINT, raw TEXT);
    CREATE TABLE problems (
        load INTEGER, "row" BIGINT, "column" TEXT, "value" TEXT, reason TEXT, scope TEXT, door TEXT);
    CREATE TABLE files (
        record TEXT, file TEXT, status TEXT, reason TEXT, rows_read BIGINT, rows_taken_in BIGINT,
        rows_set_aside BIGINT, rows_repeated BIGINT, content_hash TEXT, "version" INTEGER);
    CREATE TABLE rejections (
        file TEXT, sheet TEXT, "row" INTEGER, "column" TEXT, "value" TEXT, reason TEXT, record TEXT, scope TEXT);
"""


def rows_table(record: Record) -> str:
    """The table that keeps every well-formed row of a record, whatever its state."""
    return f"{record.name}_rows"


def rows_columns(record: Record) -> list[tuple[str, str]]:
    """(name, SQL type) of a record's own columns in its rows table."""
    columns = [(column.name, column.sql_type) for column in record.kept]
    written = [("written_value", "DOUBLE"), ("written_unit", "TEXT")] if record is READINGS else []
    return columns + written


def quoted(*names: str) -> str:
    """Names as an SQL list."""
    return ", ".join(f'"{name}"' for name in names)


@contextmanager
def open_store(out: Path) -> Iterator["duckdb.DuckDBPyConnection"]:
    """A connection whose names are those of records.duckdb, with people.duckdb attached as `people`.

    Raises UserError where another program holds them, or a newer fitback wrote them.
    """
    out.mkdir(parents=True, exist_ok=True)
    connection = connect(out / "temporary")
    try:
        connection.execute("SET preserve_insertion_order = true")
        # row groups of a bulk load are full enough; merging them again would cost half as much as the load
        connection.execute("SET max_vacuum_tasks = 0")
        connection.execute("SET TimeZone = 'UTC'")
        _attach_when_free(connection, out / "records.duckdb", "records")
        _attach_when_free(connection, out / "people.duckdb", "people")
        connection.execute("USE records")
        _lay_out(connection, out / "records.duckdb")
        yield connection
    finally:
        connection.close()


def _attach_when_free(connection: "duckdb.DuckDBPyConnection", path: Path, name: str) -> None:
    """Attaches a database, waiting a little while another run holds it."""
    import duckdb

    until = monotonic() + LOCK_WAIT_SECONDS
    while True:
        try:
            return attach(connection, path, name, read_only=False)
        except UserError:
            if monotonic() >= until:
                raise
            sleep(0.2)
        except duckdb.Error as error:
            if no_room := out_of_room(error):
                raise UserError(no_room) from None
            raise UserError(
                f"{path} cannot be read; move it away and run again, the records will be taken in anew."
            ) from None


def _lay_out(connection: "duckdb.DuckDBPyConnection", path: Path) -> None:
    laid_out = "SELECT count(*) FROM duckdb_tables() WHERE database_name = 'records' AND table_name = 'schema_version'"
    if not one_row(connection, laid_out)[0]:
        connection.execute("BEGIN")
        connection.execute(_TABLES)
        connection.execute(MENDING_TABLES)
        for record in RECORDS:
            columns = ", ".join(f'"{name}" {kind}' for name, kind in rows_columns(record))
            connection.execute(f'CREATE TABLE {rows_table(record)} ({columns}, load INTEGER, "row" BIGINT)')
        connection.execute("INSERT INTO schema_version VALUES (?)", [SCHEMA_VERSION])
        connection.execute("COMMIT")
    (version,) = one_row(connection, 'SELECT max("version") FROM schema_version')
    if version > SCHEMA_VERSION:
        raise UserError(
            f"records.duckdb was written by a newer fitback (form {version}, this one knows {SCHEMA_VERSION}); "
            "install that version or name another output folder."
        )
    if version < SCHEMA_VERSION:
        migrate(connection, path, version)
    connection.execute(MENDING_VIEWS)
    _lay_out_people(connection)


def _lay_out_people(connection: "duckdb.DuckDBPyConnection") -> None:
    """people.duckdb: the personal cells of every row that may count, views of those that do, and what was erased."""
    connection.execute(
        'CREATE TABLE IF NOT EXISTS people.borrowed (record TEXT, load INTEGER, "row" BIGINT, "column" TEXT)'
    )
    for record, name in ((INSTALLS, "install"), (CALLBACKS, "callback")):
        personal = [column.name for column in record.personal]
        key = record.key[0]
        columns = ", ".join(f"{column} TEXT" for column in (key, *personal))
        connection.execute(
            f'CREATE TABLE IF NOT EXISTS people.{name}_rows (load INTEGER, "row" BIGINT, {columns}, is_current BOOLEAN)'
        )
        _lay_out_people_view(connection, name, key, personal)
    connection.execute("CREATE TABLE IF NOT EXISTS people.erased (kind TEXT, print TEXT)")


def _lay_out_people_view(connection: "duckdb.DuckDBPyConnection", name: str, key: str, personal: list[str]) -> None:
    """The view of the personal cells that count; one that was made before anything could be erased is made anew."""
    made = f"database_name = 'people' AND view_name = '{name}_people' AND contains(sql, '{ERASED}')"
    if not one_row(connection, f"SELECT count(*) FROM duckdb_views() WHERE {made}")[0]:
        said = ", ".join(f"{not_erased(column)} AS {column}" for column in personal)
        connection.execute(
            f"CREATE OR REPLACE VIEW people.{name}_people AS SELECT {key}, {said} FROM {name}_rows WHERE is_current"
        )


def not_erased(cell: str) -> str:
    """SQL of a personal cell; null where it was erased."""
    return f"CASE WHEN NOT starts_with({cell}, '{ERASED}') THEN {cell} END"


def has_views(connection: "duckdb.DuckDBPyConnection") -> bool:
    """Whether the views of the records are there."""
    wanted = "SELECT count(*) FROM duckdb_views() WHERE database_name = 'records' AND view_name = 'installs_history'"
    return bool(one_row(connection, wanted)[0])


def with_frame(connection: "duckdb.DuckDBPyConnection", frame: pl.DataFrame, sql: str) -> None:
    """Runs a statement that reads the frame as `incoming`."""
    connection.register("incoming", frame)
    connection.execute(sql)
    connection.unregister("incoming")


def one_row(connection: "duckdb.DuckDBPyConnection", sql: str, values: list[object] | None = None) -> tuple[Any, ...]:
    """The only row of a query (an aggregate, or what an UPDATE counted)."""
    (row,) = connection.execute(sql, values or []).fetchall()
    return tuple(row)
