"""The day of the visit in a log of calls, where its heading only may say it: Called out, Lads there.

It lies in the order of the work, on the day of the report or soon after it. Common practice, no source.
"""

from pipeline.ingest.matching.columns.elimination import in_order, only
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.placed import Assignment, Placed
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.records import CALLBACKS

_DAY = "visited_on"


def with_likely_visit(layout: Layout, assigned: Assignment) -> Assignment:
    """The assignment with the only column of days as that of the visit which may be it, and none where it is said."""
    placed = {name: one.heading for name, one in assigned.placed.items() if one.is_column}
    may_say = [one.heading for one in assigned.faint if one.column == _DAY and layout.evidence[one.heading].are_days]
    free = [one for one in may_say if one not in placed.values()]
    if _DAY in placed or "reported_on" not in placed or not free:
        return assigned
    heading = only(in_order(CALLBACKS.name, _DAY, layout, placed, free))
    if heading is None:
        return assigned
    why = "its heading may say it, and its dates lie on the day of the report or soon after"
    return Assignment(assigned.placed | {_DAY: Placed(heading, CALLBACKS.name, _DAY, SURE, why)}, assigned.faint)
