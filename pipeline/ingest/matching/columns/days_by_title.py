"""The day of what a sheet holds where its heading is called after the sheet: Walk Date in the sheet Walk Round."""

from pipeline.ingest.matching.columns.elimination import is_elsewhere, only
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.placed import Placed
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.matching.words.vocabulary import words_in, words_of
from pipeline.ingest.records import Record

_DAY = frozenset({"date", "when"})


def day_by_title(layout: Layout, record: Record, name: str, taken: frozenset[str]) -> dict[str, Placed]:
    """The only free column of days that is called after the sheet, for the day of its readings or checks."""
    titles = words_in(layout.titles)
    found = [
        heading
        for heading, evidence in layout.evidence.items()
        if heading not in taken and evidence.are_days and not is_elsewhere(heading, layout)
        if (words := set(words_of(layout.lowest(heading)))) & _DAY and words - _DAY and words - _DAY <= titles
    ]
    heading = only(found)
    return {name: Placed(heading, record.name, name, SURE, "a day called after the sheet")} if heading else {}
