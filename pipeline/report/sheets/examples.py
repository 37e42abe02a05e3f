"""The part of the causes sheet with doors to look at."""

from pipeline.report.downloads import download
from pipeline.report.numbers import as_name, day
from pipeline.report.reading import Results
from pipeline.report.rows.example_rows import ExampleDoor
from pipeline.report.sheet import Block, Table
from pipeline.report.words import examples as words

COLUMNS = ("door", "how much it shows", "came back on", "watched, years", "fitted on")


def example_blocks(results: Results) -> list[Block]:
    """The doors of the strongest cause; the saved file has those of the next two. Nothing where no cause is strong."""
    examples = results.examples()
    if not examples:
        return []
    how = f"{words.WHY_BOTH} {words.DO}"
    saved = download("example_doors", results.table("example_doors"))
    rows = tuple(_cells(door) for door in examples if door.pair == 1)
    return [Table("examples", words.says(examples), COLUMNS, rows, how, frozenset({1, 3}), saved, is_open=True)]


def _cells(door: ExampleDoor) -> tuple[str, ...]:
    return (
        as_name(door.install_id),
        words.value(door),
        day(door.reported_on) if door.has_come_back else "did not come back with it",
        f"{door.door_years:.1f}",
        day(door.fitted_on),
    )
