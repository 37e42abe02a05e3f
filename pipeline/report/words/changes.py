"""What changed since the last run: sentences, none of which calls a change what chance could be."""

from collections.abc import Callable
from datetime import date

from pipeline.report.numbers import Interval, as_name, count, counted, day, listed, listed_of
from pipeline.report.rows.change_rows import RunChange
from pipeline.report.words.common import EVIDENCE, crew_name

MOST_NAMED = 3
STRONG = "strong"
NOTHING = "Nothing to tell of a run before this one"
COMPARED = (
    "Compared with the run before: doors and callbacks on record, the firm's rate, causes with strong evidence now or "
    "then, crews outside the funnel now or then. A figure stands here only where it is not as it was; where all are as "
    "they were, what the run before told is kept."
)
COLUMNS = ("figure", "of", "now (95 %)", "then (95 %)")
KINDS = {
    "doors": "doors on record",
    "callbacks": "callbacks on record",
    "rate": "callbacks per 100 door-years",
    "cause": "times as often",
    "crew": "against what the firm would have had on the same doors",
}
STATES = EVIDENCE | {
    "above": "above the funnel",
    "below": "below the funnel",
    "inside": "inside the funnel",
    "empty": "nothing to compare",
}


def headline(changes: list[RunChange]) -> str:
    """`What changed since the run of 3 March 2026`; empty without a run before, or where nothing did."""
    return f"What changed since the run of {_run_before(changes)}" if changes else ""


def _run_before(changes: list[RunChange]) -> str:
    return day(date.fromisoformat(changes[0].run_before[:10]))


def says(changes: list[RunChange]) -> list[str]:
    """The records with their rate, the causes, the crews: a point each, where there is something to say."""
    points = ((_records(changes), _rate(changes)), _causes(changes), _crews(changes))
    return [told for told in (" ".join(filter(None, sentences)) for sentences in points) if told]


def _of(changes: list[RunChange], kind: str) -> list[RunChange]:
    return [change for change in changes if change.kind == kind]


def _records(changes: list[RunChange]) -> str:
    counts = [
        counted(abs(change.more), f"{'more' if change.more > 0 else 'fewer'} {noun}")
        for kind, noun in (("doors", "door"), ("callbacks", "callback"))
        for change in _of(changes, kind)
        if change.more
    ]
    then = f"The records then ran to {day(changes[0].as_of_before)}." if changes else ""
    return f"On record: {listed(counts)}. {then}" if counts else ""


def _rate(changes: list[RunChange]) -> str:
    for change in _of(changes, "rate"):
        now, before = change.now, change.before
        if now is None or before is None:
            return ""
        if now.low <= before.high and before.low <= now.high:
            shown = "that could be chance"
        else:
            shown = f"{'more' if now.estimate > before.estimate else 'less'} often than then"
        return f"Callbacks per 100 door-years: {now.words()}, then {before.words()}; {shown}."
    return ""


def _causes(changes: list[RunChange]) -> tuple[str, str]:
    found = _of(changes, "cause")
    new = [one for one in found if one.state == STRONG]
    gone = [one for one in found if one.state_before == STRONG]
    return (
        _named("Strong evidence now and not then: ", new, _pair),
        _named("Strong evidence then and no longer: ", gone, _pair),
    )


def _pair(change: RunChange) -> str:
    now = f", {change.now.words()} times as often" if change.now else ""
    return f"“{as_name(change.words)}” for {as_name(change.fault_words)}{now}"


def _crews(changes: list[RunChange]) -> tuple[str, str]:
    found = [one for one in _of(changes, "crew") if one.side != one.side_before]
    new = [one for one in found if one.side]
    gone = [one for one in found if one.side_before and not one.side]
    return (
        _named("Told apart from the firm now and not then, ", new, _place),
        _named("Told apart from the firm then and no longer: ", gone, lambda change: crew_name(change.crew)),
    )


def _place(change: RunChange) -> str:
    often = "more often" if change.side > 0 else "less often"
    return f"called back {often}: {crew_name(change.crew)}"


def _named(lead: str, changes: list[RunChange], words: Callable[[RunChange], str]) -> str:
    named = [words(change) for change in changes[:MOST_NAMED]]
    return f"{lead}{listed_of(named, len(changes) - len(named))}." if named else ""


def table_says(changes: list[RunChange]) -> str:
    """`The table behind: 6 figures that are not as in the run of 3 March 2026`."""
    return f"The table behind: {counted(len(changes), 'figure')} not as in the run of {_run_before(changes)}"


def cells(change: RunChange) -> tuple[str, ...]:
    """A row of the table: which figure, of what, now and then."""
    whose = f"{as_name(change.words)} for {as_name(change.fault_words)}" if change.kind == "cause" else ""
    of = crew_name(change.crew) if change.kind == "crew" else whose or "the firm"
    now = _figure(change.now, change.value, change.state)
    return KINDS[change.kind], of, now, _figure(change.before, change.value_before, change.state_before)


def _figure(interval: Interval | None, value: float | None, state: str | None) -> str:
    told = interval.words() if interval else count(round(value)) if value is not None else ""
    return ", ".join(filter(None, (told, STATES.get(state or "", state or ""))))
