"""Writes a database anew, so that no freed page of the old file keeps what was erased."""

import shutil
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.forget.texts import Texts, changes_in, make_changes
from pipeline.warehouse import attach, connect

if TYPE_CHECKING:
    import duckdb


def copy_afresh(source: Path, target: Path) -> None:
    """Copies every table and view of a database into a new file, rows in their order."""
    with connect(target.parent / "temporary") as connection:
        connection.execute("SET preserve_insertion_order = true")
        attach(connection, source, "old")
        # the views name the database as their file is called
        attach(connection, target, target.name.split(".")[0], read_only=False)
        connection.execute(f"COPY FROM DATABASE old TO {target.name.split('.')[0]}")
        for table in _tables(connection, "old"):
            new = f'{target.name.split(".")[0]}.main."{table}"'
            assert _print(connection, f'old.main."{table}"') == _print(connection, new), f"{table} was not copied whole"


def clear_database(path: Path, target: Path, texts: Texts) -> bool:
    """Writes a database without the texts to `target`, where it holds any; whether it did."""
    with connect() as connection:
        attach(connection, path, "read")
        changes = changes_in(connection, "read", texts)
    if not changes:
        return False
    work = target.with_name(f".{target.name}")
    shutil.copyfile(path, work)
    with connect() as connection:
        attach(connection, work, "changed", read_only=False)
        make_changes(connection, "changed", changes)
    copy_afresh(work, target)
    work.unlink()
    return True


def _tables(connection: "duckdb.DuckDBPyConnection", database: str) -> list[str]:
    found = "SELECT table_name FROM duckdb_tables() WHERE database_name = ? ORDER BY ALL"
    return [name for (name,) in connection.execute(found, [database]).fetchall()]


def _print(connection: "duckdb.DuckDBPyConnection", table: str) -> list[tuple[object, ...]]:
    """One figure for all rows and the order in which they stand; places themselves may close up."""
    numbered = f"SELECT row_number() OVER () AS place, t AS cells FROM {table} AS t"
    return connection.execute(f"SELECT count(*), bit_xor(hash(place, cells)) FROM ({numbered})").fetchall()
