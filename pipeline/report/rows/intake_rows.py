"""The rows of the records sheet: files, what was set aside, corrections, checks of the records, typed."""

from dataclasses import dataclass
from datetime import datetime

# Cells that could hold something personal are never shown, whatever the records hold.
PERSONAL = "('customer', 'address', 'postcode', 'note', 'raw')"
MOST_SET_ASIDE = 200

ACCOUNT = "SELECT * FROM intake_account ORDER BY record IS NULL, record, file"
SHOWN_VALUE = f'CASE WHEN "column" IN {PERSONAL} THEN NULL ELSE left(value, 200) END'
SET_ASIDE = f"""
    SELECT file, sheet, "row", "column", {SHOWN_VALUE} AS value, reason, record, scope
    FROM set_aside ORDER BY scope = 'cell', record, file, "row", "column" LIMIT {MOST_SET_ASIDE}
"""

# Reasons that differ only in what they quote, count or propose are one reason; the first of them stands for all.
QUOTED_OR_COUNTED = r"""'[^']*'|"[^"]*"|\([^)]*\)|\S*[0-9]\S*|;.*"""
REASONS = """
    SELECT concat_ws(', ', record, coalesce("column", scope)) AS place, min(reason) AS words, count(*) AS "rows"
    FROM set_aside
    GROUP BY record, "column", scope, regexp_replace(reason, $pattern, '', 'g')
    ORDER BY "rows" DESC, place, words
"""
CORRECTIONS = f"""
    SELECT corrected_at, who, record, file, sheet, "row", heading, "column", left("before", 200) AS "before",
        left("after", 200) AS "after", state
    FROM corrections WHERE "column" NOT IN {PERSONAL} ORDER BY correction DESC
"""
# Sheets of one file that have the same column are one line.
UNREAD = """
    SELECT file, heading, state, reason, string_agg(sheet, ', ' ORDER BY sheet) AS sheets, sum(cells)::BIGINT AS cells
    FROM unread_columns GROUP BY file, heading, state, reason
    ORDER BY array_position(['new', 'no place', 'no such column', 'left out'], state), file, min(ordinal)
"""
DATA_CHECKS = 'SELECT * FROM data_checks ORDER BY rows_failing = 0, record, "check"'
EXPECTATION_CHECKS = """
    SELECT * FROM expectation_checks
    ORDER BY array_position(['not evaluated', 'not met', 'met', 'nothing to check'], outcome), record, expectation
"""


@dataclass(frozen=True)
class Reason:
    """Why rows, cells or files were set aside: where (record and column), an example of the words, how many."""

    place: str
    words: str
    rows: int


@dataclass(frozen=True)
class FileAccount:
    """One file taken in (table `intake_account`)."""

    record: str | None
    file: str
    status: str
    reason: str | None
    rows_read: int
    rows_taken_in: int
    rows_set_aside: int
    rows_repeated: int


@dataclass(frozen=True)
class Correction:
    """One cell that a person corrected (table `corrections`). state: in force, superseded or waiting."""

    corrected_at: datetime
    who: str
    file: str
    sheet: str | None
    row: int
    heading: str | None
    column: str
    before: str | None
    after: str | None
    state: str


@dataclass(frozen=True)
class UnreadColumn:
    """A column of a file that nothing is read from (table `unread_columns`), with the sheets that have it."""

    file: str
    heading: str
    state: str
    reason: str
    sheets: str | None
    cells: int | None


@dataclass(frozen=True)
class SetAside:
    """One row, cell or file not taken in (table `set_aside`)."""

    file: str
    sheet: str | None
    row: int | None
    column: str | None
    value: str | None
    reason: str
    record: str | None
    scope: str


@dataclass(frozen=True)
class DataCheck:
    """One check of the records (table `data_checks`)."""

    check: str
    record: str
    rows_checked: int
    rows_failing: int
    sentence: str


@dataclass(frozen=True)
class ExpectationCheck:
    """What came of one expectation on the records (table `expectation_checks`); counts are empty for whole tables."""

    expectation: str
    record: str
    outcome: str
    rows_checked: int | None
    rows_failing: int | None
    example: str | None
    sentence: str
