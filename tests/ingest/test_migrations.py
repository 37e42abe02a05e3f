"""A records.duckdb of an older form is copied, brought to the present one, and read on."""

import duckdb

from pipeline.ingest.migrations import migrate
from pipeline.ingest.records import RECORDS
from pipeline.ingest.store import SCHEMA_VERSION

# What form 1 had otherwise.
_KEYED = ["marks", "hidden", "door_leans", "raw_cells", "problems", *(f"{record.name}_rows" for record in RECORDS)]
FORM_1 = [
    *(f'ALTER TABLE {table} ALTER "row" TYPE INTEGER' for table in _KEYED),
    "DROP TABLE headings",
    "DELETE FROM schema_version",
    "INSERT INTO schema_version VALUES (1)",
]


def turned_back(firm):
    with duckdb.connect(str(firm.out / "records.duckdb")) as connection:
        for (view,) in connection.execute("SELECT view_name FROM duckdb_views() WHERE NOT internal").fetchall():
            connection.execute(f'DROP VIEW "{view}"')
        for statement in FORM_1:
            connection.execute(statement)


def test_an_older_form_is_copied_migrated_and_read_on(firm):
    firm.take_in()
    before = firm.ask("FROM readings_history ORDER BY ALL")
    turned_back(firm)
    firm.take_in()
    assert firm.ask('SELECT max("version") FROM schema_version') == [(SCHEMA_VERSION,)]
    assert firm.ask("FROM readings_history ORDER BY ALL") == before
    assert firm.ask("FROM crews_history") == []
    with duckdb.connect(str(firm.out / "records.form-1.duckdb"), read_only=True) as copy:
        assert copy.execute('SELECT max("version") FROM schema_version').fetchall() == [(1,)]


def test_a_migration_that_fails_changes_nothing(firm):
    firm.take_in()
    turned_back(firm)
    path = firm.out / "records.duckdb"
    with duckdb.connect() as connection:
        connection.execute(f"ATTACH '{path}' AS records")
        connection.execute("USE records")
        connection.execute("CREATE TABLE headings (other INTEGER)")
        try:
            migrate(connection, path, 1)
        except duckdb.Error:
            connection.execute("ROLLBACK")
        assert connection.execute('SELECT max("version") FROM schema_version').fetchall() == [(1,)]
        kinds = connection.execute("SELECT column_type FROM (DESCRIBE marks) WHERE column_name = 'row'").fetchall()
        assert kinds == [("INTEGER",)]
