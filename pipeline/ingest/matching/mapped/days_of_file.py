"""The days that all tables of a file show together: which part is the month in one sheet it is in the others too."""

from collections.abc import Iterable

from pipeline.ingest.declared.mapping import RecordMap
from pipeline.ingest.matching.sheet.found import Found
from pipeline.ingest.records import DAY, record_named


def days_in(found: Iterable[Found]) -> frozenset[str]:
    """The different texts of all columns of days."""
    return frozenset(text for one in found for record_map in one.sheet_map.records for text in _days(one, record_map))


def _days(found: Found, record_map: RecordMap) -> Iterable[str]:
    record = record_named(record_map.record)
    for name, source in record_map.columns:
        if source.heading is not None and record.column(name).kind == DAY:
            yield from filter(None, found.cells.texts(source.heading, is_day=True))
