"""What changed since the last run: the points of the letter, and on the methods sheet the figures behind them."""

from dataclasses import replace

from pipeline.report.downloads import download
from pipeline.report.reading import Results
from pipeline.report.rows.change_rows import RunChange
from pipeline.report.sheet import Block, Item, Listing, Passage, Table
from pipeline.report.words import changes as words

KEY = "changed"
TABLE = "run_changes"


def changed(found: list[RunChange]) -> list[Listing]:
    """The points, where there was a run before and something is not as it was."""
    told = words.says(found)
    return [Listing(KEY, words.headline(found), tuple(map(Item, told)))] if told else []


def changed_or_not(found: list[RunChange]) -> Block:
    """The same, and a sentence where there is nothing to tell."""
    return next(iter(changed(found)), Passage(KEY, words.NOTHING, (words.COMPARED,)))


def changes_table(found: list[RunChange], results: Results) -> list[Table]:
    """Every figure that is not as it was, as it was and as it is."""
    if not found:
        return []
    rows = tuple(words.cells(change) for change in found)
    saved = download(TABLE, results.table(TABLE))
    beside = replace(saved, words=f"the table {TABLE} stands in results.duckdb")  # no file of its own in tables/
    return [Table("changes-table", words.table_says(found), words.COLUMNS, rows, words.COMPARED, download=beside)]
