"""What a column of hours shows of how it is written: minutes among hours, 1.30 for an hour and a half.

Both are common practice, no source; neither is guessed at, so what may be the one or the other is not read.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

_BARE = re.compile(r"\d{1,4}(?:[.,]\d{1,2})?", re.ASCII)
# Hours of a visit are seldom so many, and minutes seldom fewer or other than a multiple of five.
_FEWEST_MINUTES, _STEP = 30.0, 5
_SHORT = 10.0
# Quarters of an hour as a clock shows them.
_CLOCK = frozenset({15, 30, 45})
_FEWEST_CLOCK = 2


@dataclass
class HoursEvidence:
    """numbers: the different bare numbers of a column of hours."""

    numbers: set[float] = field(default_factory=set)

    def add(self, texts: Iterable[str]) -> None:
        """Takes in texts of the column."""
        self.numbers |= {float(text.replace(",", ".")) for text in texts if _BARE.fullmatch(text)}

    def decide(self) -> "HoursManner":
        """How the column is written."""
        parts = {_hundredths(number) for number in self.numbers} - {0}
        is_clock = parts <= _CLOCK and len(parts) >= _FEWEST_CLOCK
        return HoursManner(any(0 < number < _SHORT for number in self.numbers), is_clock)


@dataclass(frozen=True)
class HoursManner:
    """has_short: some are few hours, so that large ones may be minutes. is_clock: 1.30 may be 1 h 30 min."""

    has_short: bool = False
    is_clock: bool = False

    def problem(self, number: float) -> str | None:
        """What to say of a bare number that may be something else than hours; None where it can only be hours."""
        if self.has_short and number >= _FEWEST_MINUTES and number % _STEP == 0:
            return f"this can be {number:g} hours or {number:g} minutes; write {number:g} h or {number:g} min"
        if self.is_clock and (minutes := _hundredths(number)):
            whole = int(number)
            return f"this can be {whole} h {minutes} min or {number:g} hours; write {whole}:{minutes} or {number:g} h"
        return None


def _hundredths(number: float) -> int:
    return round(100 * number) % 100
