"""Words that more than one sheet uses: who was counted, evidence, units, cautions."""

import re
from typing import Protocol

from pipeline.report.numbers import as_name, capital, count, counted, cut_inside, day
from pipeline.report.rows.table_rows import LEAST_DOOR_YEARS, CrewRate, Firm

EVIDENCE = {
    "strong": "strong evidence",
    "suggestive": "a hint",
    "none": "nothing shown",
    "too_few": "too few to tell",
}
ASSOCIATION = (
    "These are associations, adjusted for the door, the crew and the earlier steps; they are not proof. They hold if "
    "nothing else that was not recorded drives both the deviation and the fault."
)
DEFER = (
    "Limits here are for finding causes. The product's own instructions, local building regulations and licensed "
    "practice go before any of them."
)
SITE_WORK = (
    "Information only; not a substitute for the product's instructions, a risk assessment, or a competent or licensed "
    "person. Glass and leaves are heavy: find the weight first, lift with enough people or suction lifters, never in "
    "wind; support a leaf before its beads or glass come out, and prop a leaf that is off its carrier. Work at height "
    "needs planning and guarding, above all where an old door comes out of an upper floor. Before drilling, find "
    "cables, pipes and heating, and stop at board or putty that may hold asbestos. Never cut, trim or jack a lintel or "
    "beam; ask a structural engineer."
)
MOST_NAME = 60  # signs of a name in a sentence
FEW_DOORS = "too few doors to tell"
SAYS_CREW = re.compile(r"\b(?:crew|team|gang)", re.IGNORECASE)
NUMBERS_IN_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


class NamedPair(Protocol):
    """A row about a deviation and a fault, with the catalogue's words of both."""

    @property
    def words(self) -> str: ...  # noqa: D102
    @property
    def fault_words(self) -> str: ...  # noqa: D102


class HasAct(Protocol):
    """A row about a deviation, with the catalogue's words of it and what keeps it within its limit."""

    @property
    def words(self) -> str: ...  # noqa: D102
    @property
    def do(self) -> str: ...  # noqa: D102


def act_of(row: HasAct) -> str:
    """`level the sill along its length before fixing it`; without an act the deviation's words."""
    return as_name(row.do) or as_name(row.words)


def pair(row: NamedPair) -> str:
    """`sill out of level → stiff running`."""
    return f"{as_name(row.words)} → {as_name(row.fault_words)}"


def few_in_words(number: int) -> str:
    """`three` up to ten, then figures."""
    return NUMBERS_IN_WORDS[number] if 0 <= number < len(NUMBERS_IN_WORDS) else count(number)


def crew_name(name: str) -> str:
    """`crew K7`; a name that says crew, team or gang itself stays as it is. Tables hold a very long one in full."""
    shown = cut_inside(name, MOST_NAME)
    return shown if SAYS_CREW.search(shown) else f"crew {shown}"


def firm_name(firm: Firm) -> str:
    """The firm's name, or that it is not named."""
    return firm.firm or "not named"


def whole_firm(rates: list[CrewRate]) -> CrewRate | None:
    """The row `all`."""
    return next((rate for rate in rates if rate.crew == "all"), None)


def is_watched_enough(rates: list[CrewRate]) -> bool:
    """The firm's doors were watched for a year together: before that a rate says nothing."""
    whole = whole_firm(rates)
    return whole is not None and whole.door_years >= LEAST_DOOR_YEARS


def who_was_counted(firm: Firm, rates: list[CrewRate]) -> str:
    """`1,512 doors of 10 crews, watched for 3,904 door-years, with 461 callbacks, to 30 June 2026.`"""
    whole = whole_firm(rates)
    is_long = whole is not None and is_watched_enough(rates)
    years = f", watched for {counted(round(whole.door_years), 'door-year')}" if whole and is_long else ""
    doors = f"{counted(firm.doors, 'door')} of {counted(firm.crews, 'crew')}"
    return f"{doors}{years}, with {counted(firm.callbacks, 'callback')}, to {day(firm.as_of)}."


def with_unit(value: str, unit: str) -> str:
    """`3.2 mm`; shares and counts carry no unit."""
    return value if unit in ("share", "count", "") else f"{value} {unit}"


def sentence(text: str) -> str:
    """The text with a capital and one full stop."""
    text = capital(text.strip())
    return text if text.endswith((".", "?", "!", "…")) else f"{text}."
