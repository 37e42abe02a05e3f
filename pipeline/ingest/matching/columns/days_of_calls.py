"""Whether the two days of a log of calls are given the wrong way round, where headings leave it open which is which.

Nobody visits before the call: Call date and Service date are told apart by what stands under them.
"""

from pipeline.ingest.matching.columns.elimination import days_under
from pipeline.ingest.matching.columns.layout import Layout

# So many rows must say so, and of those that differ so large a share.
_FEWEST, _NEARLY_ALL = 2, 0.9


def are_turned_round(layout: Layout, reported: str, visited: str) -> bool:
    """Whether nearly all visits lie before their reports. reported, visited: headings, folded."""
    rows = zip(*days_under(layout, [reported, visited]), strict=True)
    apart = [one < other for other, one in rows if one and other and one != other]
    return sum(apart) >= max(_FEWEST, _NEARLY_ALL * len(apart))
