"""What is said of the tables: how many there are, and where the rows of one come from."""

from collections.abc import Sequence

from pipeline.dictionary import Entry
from pipeline.report.numbers import count, counted, listed
from pipeline.report.words.common import sentence

MOST_NAMED = 40


def headline(results: Sequence[Entry], between: Sequence[Entry]) -> str:
    """How many tables hold the numbers of the pages, and how many lie behind them."""
    made = f"made of {counted(len(between), 'table')} in between" if between else "made of the records"
    return f"Every number here stands in one of {counted(len(results), 'table')} that you can open, {made}."


def lineage_says(results: Sequence[Entry], records: Sequence[str]) -> str:
    """How many results are made of each record, the most needed first."""
    needs = {record: sum(record in entry.from_records for entry in results) for record in records}
    first, *others = sorted(records, key=lambda record: -needs[record])
    said = [f"{count(needs[record])} of {record}" for record in others]
    return f"Of {counted(len(results), 'result')}, {count(needs[first])} are made of {listed([first, *said], 99)}"


def where_from(entry: Entry) -> str:
    """What a table is made of and by, its key, what is left out, and who reads it, in a few sentences."""
    key = f"Key: {', '.join(entry.key)}." if entry.key else ""
    left = f"Left out: {entry.left_out}." if entry.left_out else ""
    made_of = f"Made of {listed(list(entry.made_of), MOST_NAMED)} by {entry.made_by}." if entry.made_of else ""
    read_by = f"Read by {listed(list(entry.read_by), MOST_NAMED)}." if entry.read_by else ""
    return " ".join(filter(None, (sentence(entry.grain), key, sentence(left) if left else "", made_of, read_by)))
