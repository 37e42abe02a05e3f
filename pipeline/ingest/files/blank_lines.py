"""Lines of a blank record sheet that nobody filled in: they say nothing and are no rows.

A sheet is one by its column sheet_line, which `fitback sheets` writes; elsewhere a missing value stays a mistake.
"""

import polars as pl

from pipeline.ingest.judging.cells import BLANKS
from pipeline.ingest.records import CHECKS, READINGS, Record

LINE = "sheet_line"
GUIDES = (LINE, "step", "where_to_read", "limit", "source", "fails_if")  # written for people, not read
ANSWERS = {READINGS.name: ("value", "measure"), CHECKS.name: ("outcome", "check")}


def is_record_sheet(record: Record, unknown: tuple[str, ...]) -> bool:
    """Whether a sheet with these further headings is one of ours. unknown: headings that are no column, as names."""
    return record.name in ANSWERS and LINE in unknown


def filled_lines(record: Record, rows: pl.DataFrame) -> tuple[pl.DataFrame, int]:
    """The rows with an answer, and how many lines were left empty; headings between the lines count as neither."""
    answer, asked = (pl.col(name).fill_null("").str.strip_chars(BLANKS) != "" for name in ANSWERS[record.name])
    return rows.filter(answer), rows.filter(~answer & asked).height


def empty_note(n_lines: int) -> str:
    """What to say of lines left empty."""
    return f"{n_lines:,} {'line' if n_lines == 1 else 'lines'} of a record sheet left empty, so not read"
