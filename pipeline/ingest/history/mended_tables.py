"""The tables of records.duckdb that mending needs: what was corrected, what the workbook showed, what rows said.

`corrections` is the ledger: one row per cell that a person corrected. `shown_lines` keeps every line that a
set-aside workbook showed, so that a changed cell is told from one that was so. `refused_texts` keeps what rows say that
were set aside while they were read, as JSON by column. Personal cells stand in none of them.
"""

from pipeline.ingest.history.row_keys import row_sql

_KEY = "row_key"
# Lines of one record that the workbook shows at once; mending them shows the next.
MOST_LINES = 5_000

MENDING_TABLES = """
    CREATE TABLE corrections (
        correction INTEGER, corrected_at TIMESTAMP, who TEXT, record TEXT, file TEXT, sheet TEXT, row_key BIGINT,
        heading TEXT, "column" TEXT, "before" TEXT, "after" TEXT, line TEXT, content_hash TEXT, source TEXT,
        superseded_at TIMESTAMP, superseded_by TEXT);
    CREATE TABLE shown_lines (
        line TEXT, record TEXT, file TEXT, sheet TEXT, row_key BIGINT, heading TEXT, content_hash TEXT, cells TEXT,
        faults TEXT);
    CREATE TABLE set_aside_book (name TEXT, content TEXT, file_hash TEXT);
    CREATE TABLE refused_texts (load INTEGER, "row" BIGINT, cells TEXT);
"""
# A number that a spreadsheet had as one carries an exponent while it is read, which nobody wrote.
MENDING_VIEWS = f"""
    CREATE OR REPLACE VIEW correction_ledger AS
    SELECT correction, corrected_at, who, record, file, sheet, {row_sql(_KEY)} AS "row", heading, "column", "before",
        regexp_replace("after", '^([+-]?[0-9]+[.][0-9]+)e0$', '\\1') AS "after",
        source IS NOT NULL AS is_laid, superseded_at, superseded_by
    FROM corrections;
"""
