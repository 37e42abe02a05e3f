"""How the doors stand against limits: sentences, and what another edition of a limit would say."""

from pipeline.report.numbers import NOT_KNOWN, PER_CENT, as_name, count, counted, first_listed, may_reach
from pipeline.report.rows.table_rows import LEAST_DOORS, LimitCount
from pipeline.report.words.common import FEW_DOORS

MOST_LEVEL = 2


def limits_says(limits: list[LimitCount]) -> str:
    """Caption of the limits: the one most often passed, and how many others may be passed as often."""
    used = [limit for limit in limits if not limit.is_for_comparison and limit.decided]
    if not used:
        return "No door has a reading that a limit could be held against"
    used = [limit for limit in used if limit.decided >= LEAST_DOORS]
    if not used:
        return f"How doors stand against limits: {FEW_DOORS}, no limit has {LEAST_DOORS} with readings"
    worst = max(used, key=lambda limit: limit.out / limit.decided)
    if not worst.out:
        return f"No limit is passed for certain on any of {counted(worst.decided, 'door')} with readings"
    doors = counted(worst.decided, "door")
    blurred = f"; for {count(worst.undecided)} the instrument cannot tell" if worst.undecided else ""
    name, level = as_name(worst.limit), _level(worst, used)
    return f"Most often out is {name}: {_share(worst)} of {doors} with readings{blurred}{level}"


def _level(worst: LimitCount, used: list[LimitCount]) -> str:
    """Which limits may be passed as often as the first: the intervals overlap."""
    others = [other for other in used if other is not worst and may_reach(other.share, worst.share)]
    others.sort(key=lambda other: -(other.out_share or 0.0))
    named = first_listed([as_name(other.limit) for other in others], MOST_LEVEL)
    return f"; {named} may be out as often" if others else ""


def _share(limit: LimitCount) -> str:
    return limit.share.words(100, PER_CENT) if limit.share else NOT_KNOWN


def other_editions(limits: list[LimitCount]) -> list[str]:
    """What another published limit would say, a sentence each, beside the one in use for the same deviation."""
    compared = [
        (used, other)
        for other in limits
        if other.is_for_comparison and other.decided >= LEAST_DOORS
        for used in limits
        if used.deviation == other.deviation and not used.is_for_comparison and used.decided >= LEAST_DOORS
    ]
    return [_compared(used, other) for used, other in compared]


def _compared(used: LimitCount, other: LimitCount) -> str:
    edition = f", edition {as_name(other.edition)}" if other.edition else ""
    return (
        f"“{as_name(other.limit)}” ({as_name(other.source)}{edition}) finds {_shares(other)}; "
        f"“{as_name(used.limit)}”, the one in use, finds {_shares(used)}."
    )


def _shares(limit: LimitCount) -> str:
    return f"{_share(limit)} out of {counted(limit.decided, 'door')}, {count(limit.undecided)} undecided"
