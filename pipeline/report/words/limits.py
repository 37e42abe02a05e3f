"""How the doors stand against limits: sentences, and what another edition of a limit would say."""

from pipeline.report.numbers import as_name, counted, percent
from pipeline.report.rows import LEAST_DOORS, LimitCount
from pipeline.report.words.common import FEW_DOORS


def limits_says(limits: list[LimitCount]) -> str:
    """Caption of the limits: the one most often passed."""
    used = [limit for limit in limits if not limit.is_for_comparison and limit.decided]
    if not used:
        return "No door has a reading that a limit could be held against"
    used = [limit for limit in used if limit.decided >= LEAST_DOORS]
    if not used:
        return f"How doors stand against limits: {FEW_DOORS}, no limit has {LEAST_DOORS} with readings"
    worst = max(used, key=lambda limit: limit.out / limit.decided)
    if not worst.out:
        return f"No limit is passed for certain on any of {counted(worst.decided, 'door')} with readings"
    share, doors = percent(worst.out / worst.decided), counted(worst.decided, "door")
    blurred = f"; for {percent(worst.undecided / worst.decided)} the instrument cannot tell" if worst.undecided else ""
    return f"Most often out is {as_name(worst.limit)}: {share} of {doors} with readings{blurred}"


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
    return f"{percent(limit.out / limit.decided)} out, {percent(limit.undecided / limit.decided)} undecided"
