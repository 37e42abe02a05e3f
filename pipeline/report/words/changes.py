"""What changed since the last run: sentences, none of which calls a change what chance could be."""

from collections.abc import Callable
from datetime import date

from pipeline.report.change_rows import RunChange
from pipeline.report.numbers import as_name, counted, day, listed, listed_of
from pipeline.report.words.common import crew_name

MOST_NAMED = 3
STRONG, OUTSIDE = "strong", ("above", "below")


def headline(changes: list[RunChange]) -> str:
    """`What changed since the run of 3 March 2026`; empty without a run before, or where nothing did."""
    return f"What changed since the run of {day(date.fromisoformat(changes[0].run_before[:10]))}" if changes else ""


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
    new, gone = _new_and_gone(changes, "cause", (STRONG,))
    return (
        _named("Strong evidence now and not then: ", new, _pair),
        _named("Strong evidence then and no longer: ", gone, _pair),
    )


def _pair(change: RunChange) -> str:
    now = f", {change.now.words()} times as often" if change.now else ""
    return f"“{as_name(change.words)}” for {as_name(change.fault_words)}{now}"


def _crews(changes: list[RunChange]) -> tuple[str, str]:
    new, gone = _new_and_gone(changes, "crew", OUTSIDE)
    return (
        _named("Told apart from the firm now and not then, ", new, _place),
        _named("Told apart from the firm then and no longer: ", gone, lambda change: crew_name(change.crew)),
    )


def _place(change: RunChange) -> str:
    often = "more often" if change.state == "above" else "less often"
    return f"called back {often}: {crew_name(change.crew)}"


def _new_and_gone(
    changes: list[RunChange], kind: str, told: tuple[str, ...]
) -> tuple[list[RunChange], list[RunChange]]:
    """Those of a kind that are told now, by their state, and those that were told then."""
    found = _of(changes, kind)
    return [one for one in found if one.state in told], [one for one in found if one.state not in told]


def _named(lead: str, changes: list[RunChange], words: Callable[[RunChange], str]) -> str:
    named = [words(change) for change in changes[:MOST_NAMED]]
    return f"{lead}{listed_of(named, len(changes) - len(named))}." if named else ""
