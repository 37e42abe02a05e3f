"""Numbers, dates and names as a reader sees them. Strings out; nothing is computed beyond rounding."""

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median_high

from pipeline.errors import visible

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
MOST_DECIMALS, FINEST = 3, 16  # that a width supports; that keep any number beside 1 apart from it
MOST_TIMES = 100  # a ratio beyond it is told as that
NOT_KNOWN = "not known"
KEPT = "\N{NO-BREAK SPACE}"  # keeps a number and its unit on one line
PER_CENT = f"{KEPT}%"


@dataclass(frozen=True)
class Interval:
    """An estimate with its 95 % interval. `datum` is the value that would mean nothing is there (0, 1, an average)."""

    estimate: float
    low: float
    high: float
    datum: float | None = None

    @property
    def side(self) -> int:
        """1: the whole interval lies above the datum, -1: below, 0: it holds the datum, or there is none."""
        if self.datum is None or self.low <= self.datum <= self.high:
            return 0
        return 1 if self.low > self.datum else -1

    def decimals(self) -> int:
        """Decimals (negative: tens, hundreds) that the width supports, and more where rounding would hide the side."""
        supported = min(max(_supported(self.high - self.low), -2), MOST_DECIMALS)
        shown = range(supported, FINEST + 1)
        return next(
            (digits for digits in shown if self._keeps_its_side(digits) and self._keeps_its_ends(digits)), MOST_DECIMALS
        )

    def _keeps_its_side(self, digits: int) -> bool:
        if not self.side or self.datum is None:
            return True
        near = self.low if self.side > 0 else self.high
        return (round(near, digits) - self.datum) * self.side > 0

    def _keeps_its_ends(self, digits: int) -> bool:
        """In tens and hundreds an end that is a whole number or more is not told as 0."""
        return digits >= 0 or all(round(end, digits) or abs(end) < 0.5 for end in (self.low, self.high))

    def words(self, scale: float = 1.0, unit: str = "", digits: int | None = None) -> str:
        """`19 (11 to 27)`; with `scale` 100 and `unit` ` %`: `31 % (23 to 40)`.

        digits  those of the figure beside it, so that both say the same; the interval's own where they hide its side
        """
        scaled = self.scaled(scale)
        if digits is None or not scaled._keeps_its_side(digits):
            digits = scaled.decimals()
        shown = self._writer(scale)
        if shown is _times and self.low > MOST_TIMES:
            return f"{_times(self.low, digits)}{unit}"
        return f"{shown(scaled.estimate, digits)}{unit} ({shown(scaled.low, digits)} to {shown(scaled.high, digits)})"

    def middle(self, scale: float = 1.0) -> str:
        """The estimate alone, rounded as in `words`."""
        scaled = self.scaled(scale)
        shown = self._writer(scale)
        return shown(scaled.estimate, scaled.decimals())

    def _writer(self, scale: float) -> Callable[[float, int], str]:
        return _times if self.datum == 1.0 and scale == 1.0 else number

    def scaled(self, scale: float) -> "Interval":
        """The same in another unit."""
        datum = None if self.datum is None else self.datum * scale
        return Interval(self.estimate * scale, self.low * scale, self.high * scale, datum)


def may_reach(other: Interval | None, first: Interval | None) -> bool:
    """The intervals overlap, so that the other may be as large as the first, whose estimate is larger."""
    return other is not None and first is not None and other.high >= first.low


def one_precision(intervals: list[Interval], scale: float = 1.0) -> int:
    """The decimals for every number of one figure: the middle one of what each interval supports, else 0."""
    return median_high(part.scaled(scale).decimals() for part in intervals) if intervals else 0


def interval(
    estimate: float | None, low: float | None, high: float | None, datum: float | None = None
) -> Interval | None:
    """An Interval, or None where a part of it is missing or not finite: then no interval is claimed."""
    parts = (estimate, low, high)
    finite = [float(part) for part in parts if part is not None and math.isfinite(part)]
    return Interval(finite[0], finite[1], finite[2], datum) if len(finite) == len(parts) else None


def _supported(width: float) -> int:
    # The last digit shown is worth at most two fifths of the interval's half: 19 (14 to 24), 10.8 (9.8 to 11.9).
    return 1 if width < 1e-9 else -math.floor(math.log10(width / 5) + 1e-9)


def _times(ratio: float, decimals: int) -> str:
    """A ratio as `number`; where nearly every door with it comes back and none without, how far is not known."""
    return f"over {MOST_TIMES}" if ratio > MOST_TIMES else number(ratio, decimals)


def bare_times(ratio: float) -> str:
    """A ratio without an interval: `1.2 times`; beyond a hundred either way how far is not known."""
    if ratio < 1 / MOST_TIMES:
        return f"under {plain(1 / MOST_TIMES, 2)} times"
    return f"over {MOST_TIMES} times" if ratio > MOST_TIMES else f"{plain(ratio, 2)} times"


def number(value: float, decimals: int = 0) -> str:
    """`1,512` or `0.94`; negative decimals round to tens or hundreds; a zero has no sign."""
    rounded = round(value, decimals) + 0.0
    return f"{rounded:,.{max(decimals, 0)}f}".replace("-", "−")


def count(value: float | None) -> str:
    """A whole number with thousands set apart; `not known` where there is none."""
    return NOT_KNOWN if value is None else number(value)


def counted(value: float | None, one: str, many: str = "") -> str:
    """`1 door`, `12 doors`."""
    word = one if value == 1 else (many or f"{one}s")
    return f"{count(value)} {word}"


def plain(value: float | None, digits: int = 3) -> str:
    """A value that has no interval, to `digits` significant digits, without zeros at the end of its decimals."""
    if value is None or not math.isfinite(value):
        return NOT_KNOWN
    if value == 0:
        return "0"
    shown = number(value, max(digits - 1 - math.floor(math.log10(abs(value))), 0))
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def measured(value: float, uncertainty: float | None) -> str:
    """A measured value to the first digit of its standard uncertainty, two decimals at most; without one as `plain`.

    >>> measured(5.4429, 0.035), measured(0.04865, 0.025), measured(3.5, 0.18), measured(1.0, None)
    ('5.44', '0.05', '3.5', '1')
    """
    if not uncertainty or not math.isfinite(uncertainty) or not math.isfinite(value):
        return plain(round(value, 6))  # what is left of adding floats is no figure
    return number(value, min(max(-math.floor(math.log10(uncertainty)), 0), 2))


def percent(share: float | None) -> str:
    """A share without an interval as whole per cent; below 1 % and above 99 % says so instead of 0 or 100."""
    if share is None or not math.isfinite(share):
        return NOT_KNOWN
    if 0 < share < 0.01:
        return f"under 1{PER_CENT}"
    if 0.99 < share < 1:
        return f"over 99{PER_CENT}"
    return f"{round(100 * share)}{PER_CENT}"


def money(value: float | None, currency: str | None) -> str:
    """To two significant digits, with the firm's currency; no pence."""
    if value is None or not math.isfinite(value):
        return NOT_KNOWN
    digits = 0 if value == 0 else 1 - math.floor(math.log10(abs(value)))
    return in_currency(number(value, min(digits, 0)), currency)


def moneys(values: Sequence[float | None], currency: str | None) -> list[str]:
    """Sums that stand under or beside one another, all to the last digit of the largest told to two.

    One that this would round to nothing is told by itself.

    >>> moneys([12_840.0, 2_260.0, 41.0, None], "GBP")
    ['GBP 13,000', 'GBP 2,000', 'GBP 41', 'not known']
    """
    largest = max((abs(value) for value in values if value is not None and math.isfinite(value)), default=0.0)
    decimals = min(1 - math.floor(math.log10(largest)), 0) if largest else 0
    return [
        in_currency(number(value, decimals), currency)
        if value is not None and math.isfinite(value) and round(value, decimals)
        else money(value, currency)
        for value in values
    ]


def in_currency(shown: str, currency: str | None) -> str:
    """`GBP 5,100 (3,300 to 6,900)`: a number in words with the firm's currency, where that is known."""
    return f"{currency or ''} {shown}".strip()


def day(value: date | None) -> str:
    """`30 June 2026`, whatever the machine's language."""
    return NOT_KNOWN if value is None else f"{value.day}{KEPT}{MONTHS[value.month - 1]}{KEPT}{value.year}"


def month(value: str) -> str:
    """`2026-06` as `June 2026`."""
    year, number_of_month = value.split("-")
    return f"{MONTHS[int(number_of_month) - 1]} {year}"


def ordinal(place: int) -> str:
    """`1st`, `2nd`, `3rd`, `11th`."""
    ending = "th" if 10 <= place % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(place % 10, "th")
    return f"{place}{ending}"


def listed(words: list[str], most: int = 4) -> str:
    """`a, b and c`; beyond `most` the rest is counted."""
    if not words:
        return ""
    shown = words if len(words) <= most else [*words[: most - 1], f"{len(words) - most + 1} more"]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


def listed_of(shown: list[str], left: int) -> str:
    """`a, b and 3 more`: all that is shown, and how many are left."""
    return listed([*shown, *([f"{count(left)} more"] if left else [])], len(shown) + 1)


def first_listed(words: list[str], most: int) -> str:
    """`a, b and 3 more`: the first of them, `most` at most, and how many are left."""
    return listed_of(words[:most], len(words[most:]))


def as_name(text: str | None) -> str:
    """A name from the records as one line of visible text: control and direction marks become a space."""
    return " ".join(visible(text or "").split())


def cut(text: str | None, most: int) -> str:
    """A name from the records on one line, of no more than `most` signs: … where it is cut."""
    shown = as_name(text)
    return shown if len(shown) <= most else f"{shown[: most - 1].rstrip()}…"


def cut_inside(text: str | None, most: int) -> str:
    """The same with … in it: names that are alike for long differ at their end.

    >>> cut_inside("Fitters of the northern district, second van", 24)
    'Fitters of the…econd van'
    """
    shown = as_name(text)
    if len(shown) <= most:
        return shown
    last = (most - 1) * 2 // 5
    return f"{shown[: most - 1 - last].rstrip()}…{shown[-last:].lstrip()}"


def natural(name: str) -> list[tuple[int, int, str]]:
    """A sorting key that puts K2 before K10."""
    parts = re.findall(r"\d+|\D+", name)
    return [(0, int(part), "") if part.isdecimal() else (1, 0, part.casefold()) for part in parts]


def capital(text: str) -> str:
    """The sentence with its first letter as a capital; the rest untouched."""
    return text[:1].upper() + text[1:]
