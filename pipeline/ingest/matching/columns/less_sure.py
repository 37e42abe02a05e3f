"""Headings that say a column of callbacks less surely than another may: clock times of hours, a caller of a customer.

How logs of calls are headed is common practice, no source.
"""

from pipeline.ingest.matching.columns.durations import HOURS, says_itself_how_long, unit_of_duration
from pipeline.ingest.matching.columns.evidence import Evidence
from pipeline.ingest.matching.words.vocabulary import words_of

# What is in doubt, or says who called, gives way to another heading that says the same plainly.
_GIVES_WAY = 0.9
_CUSTOMER = "customer"
# Alone these may say another thing: how long a door is, what it is for. Only cells that tell make them sure.
_HOW_LONG, _FOR, _UNSAID = ("how", "long"), ("for",), 0.5
# Customers seldom come again, purposes and rooms do.
_MOSTLY = 0.5
_CALLERS = frozenset({"who", "caller", "called", "rang", "rung", "by", "from", "spoke", "reported"})


def less_sure(column: str, heading: str, evidence: Evidence) -> float:
    """By how much a heading is less sure to be a column than its words say: 1 where nothing speaks against it."""
    if column == HOURS and unit_of_duration(heading, evidence)[1]:
        return _GIVES_WAY
    if column == HOURS and words_of(heading) == _HOW_LONG and not says_itself_how_long(evidence):
        return _UNSAID
    if column == _CUSTOMER and words_of(heading) == _FOR and evidence.distinct < _MOSTLY * evidence.filled:
        return _UNSAID
    return _GIVES_WAY if column == _CUSTOMER and set(words_of(heading)) & _CALLERS else 1.0
