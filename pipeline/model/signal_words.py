"""What a point out of control means in plain words: since when, by how much and of how many, what to look at."""

from dataclasses import dataclass
from datetime import date

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
MOST_DIGITS = 3
WHOLE_FROM = 5.0  # times: from here on a decimal says more than is known


@dataclass(frozen=True)
class Said:
    """what: since when whose doors are worse in what; how_much: numbers; act: what to look at. No full stops."""

    what: str
    how_much: str
    act: str

    @property
    def meaning(self) -> str:
        """All of it as one text."""
        return f"{self.what}: {self.how_much}. {self.act[:1].upper()}{self.act[1:]}."


@dataclass(frozen=True)
class Rise:
    """A deviation of one crew's doors since a day and before it. now, before, firm: means; low, high: 95 % of now.

    firm  mean of the other crews' doors since then, None where there are none
    """

    deviation: str
    words: str
    do: str
    unit: str
    is_check: bool
    doors: int
    doors_before: int
    now: float
    low: float
    high: float
    before: float
    firm: float | None


@dataclass(frozen=True)
class More:
    """Callbacks since a day against those expected had the doors done as before: their ratio with its interval.

    fault  in words; empty: any
    """

    fault: str
    seen: float
    expected: float
    low: float
    high: float


def rise_says(crew: str, since: date, rise: Rise, step: str, is_whole_step: bool) -> Said:
    """`From about May 2026 on, crew K7's doors are worse in the sill step`, `sill out of level 3.1 mm ...`."""
    what = f"the {step} step" if is_whole_step else rise.words
    amount, before = _amount(rise.now, rise), _amount(rise.before, rise)
    ends = f"{_amount(rise.low, rise, False)} to {_amount(rise.high, rise, False)}"
    others = "" if rise.firm is None else f", the other crews {_amount(rise.firm, rise)}"
    most = f"most of all {rise.words}, " if is_whole_step else ""
    kind = f"{most}failed on" if rise.is_check else f"{most}on average"
    doors = f"{rise.doors:,} doors since then and {rise.doors_before:,} before"
    act = f"look at the work and at the instrument: {rise.do}" if rise.do else f"look at the {step} step"
    how_much = f"{kind} {amount} ({ends}) against {before} before{others}; {doors}"
    return Said(f"From about {_month(since)} on, {_whose(crew)} doors are worse in {what}", how_much, act)


def more_says(crew: str, since: date, more: More) -> Said:
    """`From about May 2026 on, crew K7's doors come back more often`, `14 callbacks against 6.2 ...`."""
    fault = f" with {more.fault}" if more.fault else ""
    digits = 0 if more.low >= WHOLE_FROM else 1
    ratio = f"{more.seen / more.expected:.{digits}f} times as many ({more.low:.{digits}f} to {more.high:.{digits}f})"
    latest = "look at its latest doors first"
    act = "look for what changed then: product, supplier, method" if crew == "all" else latest
    return Said(
        f"From about {_month(since)} on, {_whose(crew)} doors come back more often{fault}",
        f"{more.seen:,.0f} callbacks against {more.expected:,.1f} had they done as before, {ratio}",
        act,
    )


def _whose(crew: str) -> str:
    if crew == "all":
        return "the whole firm's"
    return f"{crew}'s" if crew.lower().startswith(("crew", "team")) else f"crew {crew}'s"


def _month(day: date) -> str:
    return f"{MONTHS[day.month - 1]} {day.year}"


def _amount(value: float, rise: Rise, has_unit: bool = True) -> str:
    is_share = rise.is_check or rise.unit == "share"
    scale, unit = (100.0, " %") if is_share else (1.0, "" if rise.unit in ("count", "") else f" {rise.unit}")
    digits = 0 if is_share or abs(rise.before) >= 50 else 1
    # 0.71 against 0.68 must not read 0.7 against 0.7
    while digits < MOST_DIGITS and round(scale * rise.now, digits) == round(scale * rise.before, digits):
        digits += 1
    return f"{scale * value:,.{digits}f}" + (unit if has_unit else "")
