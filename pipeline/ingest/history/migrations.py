"""Brings records.duckdb of an older form to the present one: a copy is kept, then all is changed in one transaction."""

import shutil
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.ingest.history.mended_tables import MENDING_TABLES
from pipeline.ingest.records import CREW_NO, RECORDS

if TYPE_CHECKING:
    import duckdb

# Tables that the form 2 gave a wider row key: spreadsheet row and column in one number.
_KEYED = ("marks", "hidden", "door_leans", "raw_cells", "problems", *(f"{record.name}_rows" for record in RECORDS))
_TO_2 = (
    *(f'ALTER TABLE {table} ALTER "row" TYPE BIGINT' for table in _KEYED),
    'CREATE TABLE headings (load INTEGER, place INTEGER, "column" TEXT, heading TEXT)',
)
# Form 3 keeps what a person corrected, and which cells a row borrowed from others of its key. Nothing ever wrote into
# the table of corrections that form 2 had.
_TO_3 = (
    "DROP TABLE IF EXISTS corrections",
    MENDING_TABLES,
    'CREATE TABLE borrowed (record TEXT, load INTEGER, "row" BIGINT, "column" TEXT)',
    'CREATE TABLE lenders (record TEXT, load INTEGER, "row" BIGINT, of_load INTEGER, of_row BIGINT)',
)
# Form 4 knows doors and words, not only crews, that are written in more than one way.
_TO_4 = (
    "DROP TABLE crew_spellings",
    'CREATE TABLE spellings ("column" TEXT, written TEXT, meant TEXT)',
)
# Form 5 keeps which columns nothing is read from.
_TO_5 = (
    "CREATE TABLE unread (load INTEGER, heading TEXT, cells BIGINT, state TEXT, reason TEXT)",
    "CREATE TABLE unread_headings (file TEXT, sheet TEXT, heading TEXT, cells BIGINT, state TEXT, reason TEXT)",
)
# Form 6 knows the numbers by which other tables name crews.
_TO_6 = (f"ALTER TABLE crews_rows ADD COLUMN {CREW_NO} TEXT",)
_STEPS = {2: _TO_2, 3: _TO_3, 4: _TO_4, 5: _TO_5, 6: _TO_6}


def migrate(connection: "duckdb.DuckDBPyConnection", path: Path, version: int) -> None:
    """Migrates from a version to the latest; the file as it was stays beside as records.form-<version>.duckdb.

    The views go; a run makes them anew.
    """
    connection.execute("CHECKPOINT records")
    shutil.copyfile(path, path.with_name(f"records.form-{version}.duckdb"))
    connection.execute("BEGIN")
    for record in RECORDS:
        for view in (f"{record.name}_history", record.name):
            connection.execute(f"DROP VIEW IF EXISTS {view}")
    for step in range(version + 1, max(_STEPS) + 1):
        for statement in _STEPS[step]:
            connection.execute(statement)
        connection.execute("INSERT INTO schema_version VALUES (?)", [step])
    connection.execute("COMMIT")
