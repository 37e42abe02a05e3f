"""Columns that nothing is read from: what is said of them."""

from pipeline.report.numbers import as_name, count, counted, listed
from pipeline.report.rows.intake_rows import UnreadColumn

NEW = "new"


def unread_says(told: list[UnreadColumn]) -> str:
    """How many columns are in no number, and which of them are new."""
    headings = dict.fromkeys(one.heading for one in told)
    new = dict.fromkeys(as_name(one.heading) for one in told if one.state == NEW)
    is_one = len(headings) == 1
    said = f"{counted(len(headings), 'column')} of your files {'is' if is_one else 'are'} not read, so in no number"
    return f"{said}; new: {listed(list(new), 4)}" if new else said


def how_unread(n_left_out: int, n_more: int) -> str:
    """What to do about them. n_left_out: those that the firm has left out; n_more: those that are not shown."""
    how = (
        "A reading, day or fact among them counts once its column is named in fitback.toml; what is none is listed "
        "there under ignore, and is then not told any more."
    )
    out = f" {counted(n_left_out, 'column')} {'is' if n_left_out == 1 else 'are'} left out so." if n_left_out else ""
    more = f" {count(n_more)} more stand in tables/unread_columns.csv." if n_more else ""
    return how + out + more
