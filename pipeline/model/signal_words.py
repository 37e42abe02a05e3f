"""What a point out of control means: a plain sentence with its numbers, what stands behind them, what to look at."""

from dataclasses import dataclass
from datetime import date

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


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
    """Callbacks since a day against those expected had the doors done as before: their ratio with its interval."""

    words: str
    seen: float
    expected: float
    low: float
    high: float


def rise_says(crew: str, since: date, rise: Rise, step: str, is_whole_step: bool) -> str:
    """`From May 2026 on, crew K7's doors show sill out of level 3.1 mm (2.6 to 3.6) against 1.9 mm before; ...`."""
    who = "the whole firm's" if crew == "all" else f"{_crew(crew)}'s"
    amount, before = _amount(rise.now, rise), _amount(rise.before, rise)
    ends = f"{_amount(rise.low, rise, False)} to {_amount(rise.high, rise, False)}"
    others = "" if rise.firm is None else f", the other crews' {_amount(rise.firm, rise)}"
    what = f"the {step} step, most of all {rise.words}" if is_whole_step else rise.words
    kind = "share failed" if rise.is_check else "on average"
    doors = f"{rise.doors:,} doors since then and {rise.doors_before:,} before"
    act = rise.do or f"look at the {step} step"
    return (
        f"From {_month(since)} on, {who} doors are worse in {what}: {kind} {amount} ({ends}) against {before} "
        f"before{others}; {doors}. Look at the work and at the instrument: {act}."
    )


def more_says(crew: str, since: date, more: More) -> str:
    """`From May 2026 on, crew K7's doors come back more often than before: 14 callbacks, 6.2 expected ...`."""
    who = "the whole firm's" if crew == "all" else f"{_crew(crew)}'s"
    ratio = f"{more.seen / more.expected:.1f} times ({more.low:.1f} to {more.high:.1f})"
    act = "look at its latest doors first" if crew != "all" else "look for what changed then: product, supplier, method"
    return (
        f"From {_month(since)} on, {who} doors come back more often{more.words}: {more.seen:,.0f} callbacks against "
        f"{more.expected:,.1f} had they done as before, {ratio}; {act}."
    )


def _crew(name: str) -> str:
    return name if name.lower().startswith(("crew", "team")) else f"crew {name}"


def _month(day: date) -> str:
    return f"{MONTHS[day.month - 1]} {day.year}"


def _amount(value: float, rise: Rise, has_unit: bool = True) -> str:
    if rise.is_check or rise.unit == "share":
        return f"{100 * value:.0f}" + (" %" if has_unit else "")
    unit = "" if rise.unit in ("count", "") else f" {rise.unit}"
    digits = 0 if abs(rise.before) >= 50 else 1
    return f"{value:,.{digits}f}" + (unit if has_unit else "")
