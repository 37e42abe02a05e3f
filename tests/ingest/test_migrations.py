"""A records.duckdb of an older form is copied, brought to the present one, and read on."""

import duckdb

from pipeline.ingest.history.migrations import migrate
from pipeline.ingest.history.store import SCHEMA_VERSION
from pipeline.ingest.mending.book import BOOK
from pipeline.ingest.records import RECORDS
from tests.ingest.conftest import READINGS

# What form 2 had otherwise, or not yet, and what form 1 had otherwise than that.
MADE_SINCE = (
    "corrections", "shown_lines", "set_aside_book", "refused_texts", "borrowed", "lenders", "spellings", "unread",
    "unread_headings",
)  # fmt: skip
FORM_2 = [
    *(f"DROP TABLE {table}" for table in MADE_SINCE),
    "ALTER TABLE crews_rows DROP COLUMN crew_no",
    "CREATE TABLE crew_spellings (written TEXT, crew TEXT)",
    'CREATE TABLE corrections (record TEXT, file TEXT, sheet TEXT, "row" INTEGER, "column" TEXT, "value" TEXT, '
    "corrected_on DATE)",
    "DELETE FROM schema_version",
    "INSERT INTO schema_version VALUES (2)",
]
_KEYED = ["marks", "hidden", "door_leans", "raw_cells", "problems", *(f"{record.name}_rows" for record in RECORDS)]
FORM_1 = [
    *FORM_2,
    *(f'ALTER TABLE {table} ALTER "row" TYPE INTEGER' for table in _KEYED),
    "DROP TABLE headings",
    "DELETE FROM schema_version",
    "INSERT INTO schema_version VALUES (1)",
]


def turned_back(firm, statements=FORM_1):
    with duckdb.connect(str(firm.out / "records.duckdb")) as connection:
        for (view,) in connection.execute("SELECT view_name FROM duckdb_views() WHERE NOT internal").fetchall():
            connection.execute(f'DROP VIEW "{view}"')
        for statement in statements:
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


def test_form_2_gets_a_ledger_and_what_is_set_aside_in_it_can_be_mended(firm):
    firm.write("readings.csv", READINGS + "D1,sill_height,sill,2000,abc,mm\n")
    firm.take_in()
    before = firm.ask("FROM readings_history ORDER BY ALL")
    turned_back(firm, [*FORM_2, "UPDATE loads SET judged_by = 'as form 2 did'"])
    (firm.out / BOOK).unlink()
    firm.take_in()
    assert firm.ask("FROM readings_history ORDER BY ALL") == before
    assert firm.ask("FROM corrections") == []
    assert firm.ask("SELECT cells->>'value' FROM refused_texts") == [("abc",)]
    assert (firm.out / BOOK).is_file()
    assert (firm.out / "records.form-2.duckdb").is_file()


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
