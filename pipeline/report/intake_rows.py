"""The rows of the records sheet: files, what was set aside, corrections, checks of the records, typed."""

from dataclasses import dataclass
from datetime import datetime


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
