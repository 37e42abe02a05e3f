"""Places of crews and rates on the firm's mix: what a comparison of crews may say, and what it may not."""

from pipeline.report.numbers import ordinal
from pipeline.report.rows.table_rows import CrewRate
from pipeline.report.words.common import crew_name, few_in_words

HOW_PLACES = (
    "A place is counted on the same doors, from the crew called back least. It is given as the span that the records "
    "leave open (95 %), because a list from best to worst would mostly rank chance."
)
HOW_MIX = (
    "The rate on the firm's mix of doors is what the crew would have if it fitted easy and hard doors in the firm's "
    "proportions. It is told only where the crew has met that mix; where it differs from the crew's own rate, the crew "
    "was sent to other doors than the firm as a whole."
)


def place(rate: CrewRate) -> str:
    """`3rd to 9th of 12`; empty where there is nothing to compare."""
    if rate.place_low is None or rate.place_high is None or rate.crew == "all":
        return ""
    of = f" of {rate.crews_compared}"
    if rate.place_low == rate.place_high:
        return f"{ordinal(rate.place_low)}{of}"
    return f"{ordinal(rate.place_low)} to {ordinal(rate.place_high)}{of}"


def places_say(rates: list[CrewRate]) -> str:
    """How far the crews can be put in order, in one sentence; empty where there is nothing to compare."""
    placed = [(rate, _width(rate)) for rate in rates if place(rate)]
    if not placed:
        return ""
    half = sum(width >= (rate.crews_compared or 1) / 2 for rate, width in placed)
    known = [rate for rate, width in placed if width == 1]
    sure = f"{crew_name(known[0].crew)} is {place(known[0])}" if len(known) == 1 else ""
    wide = (
        f"the places of {few_in_words(half)} of {few_in_words(len(placed))} crews are open over half the list or more"
        if half
        else f"no crew's place is open over half the list of {few_in_words(len(placed))}"
    )
    return f"{sure}; {wide}" if sure else wide


def _width(rate: CrewRate) -> int:
    return (rate.place_high or 0) - (rate.place_low or 0) + 1


def not_on_the_mix(rates: list[CrewRate]) -> list[str]:
    """One sentence for each crew whose rate on the firm's mix is not told."""
    return [f"{crew_name(rate.crew)} {rate.direct_note}." for rate in rates if rate.direct_note and not rate.direct]
