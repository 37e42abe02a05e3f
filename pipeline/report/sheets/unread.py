"""The table of columns that nothing is read from, on the records sheet."""

from pipeline.report.downloads import download
from pipeline.report.numbers import as_name, count
from pipeline.report.reading import Results
from pipeline.report.rows.intake_rows import UnreadColumn
from pipeline.report.sheet import Block, Table
from pipeline.report.words.unread import how_unread, unread_says

MOST_SHOWN = 100
LEFT_OUT = "left out"


def unread_table(results: Results) -> list[Block]:
    """The columns that are not read and that nobody has left out; nothing where there are none."""
    found = results.unread()
    told = [one for one in found if one.state != LEFT_OUT]
    if not told:
        return []
    columns = ("file", "sheet", "column", "filled cells", "what to do")
    rows = tuple(map(_cells, told[:MOST_SHOWN]))
    how = how_unread(len(found) - len(told), max(0, len(told) - MOST_SHOWN))
    saved = download("unread_columns", results.table("unread_columns"))
    return [Table("unread", unread_says(told), columns, rows, how, frozenset({3}), saved, is_open=True)]


def _cells(one: UnreadColumn) -> tuple[str, ...]:
    filled = "" if one.cells is None else count(one.cells)
    return (as_name(one.file), as_name(one.sheets), as_name(one.heading), filled, as_name(one.reason))
