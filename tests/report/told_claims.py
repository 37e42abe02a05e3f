"""What a sentence claims, and whether the row that it tells bears it: what the patterns of sentences share.

A check gets the firm's rows and what the pattern found, and says whether the claim is true of them. Intervals come from
the rows themselves; nothing of the code that writes the sentences is used.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from pipeline.report.rows.table_rows import CrewRate, Effect, WeakStep
from tests.report.intervals import reach
from tests.report.random_firm import RandomFirm

Found = dict[str, str]
Check = Callable[[RandomFirm, Found], bool]
FEW = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]
N = r"−?\d[\d,]*(?:\.\d+)?"
T = rf"(?:(?:over 100|{N})(?: %| times| mm| thousand)? \((?:over 100|{N}) to (?:over 100|{N})\)|over 100(?: times)?)"
D, F, K = r"[Gg]izmo \d", r"[Ww]oe \d", r"[Cc]rew K\d+"
STEP = r"(?i:survey|sill|frame|hanging|glazing|adjustment)"


@dataclass(frozen=True)
class Claim:
    """A kind of sentence and what must be so where it stands."""

    pattern: re.Pattern[str]
    holds: Check


def side_of(low: float | None, high: float | None, datum: float = 1.0) -> int:
    """1: an interval lies above the datum, -1: below, 0: it holds it, or there is none."""
    if low is None or high is None or low <= datum <= high:
        return 0
    return 1 if low > datum else -1


def is_told(words: str, parts: tuple[float | None, ...], scale: float = 1.0, datum: float | None = None) -> bool:
    """The numbers of an interval as written are those of the row, and where it clears the datum it is seen to."""
    if None in parts:
        return False
    values = [scale * part for part in parts if part is not None]
    numbers = re.findall(rf"over 100|{N}", words)
    if len(numbers) == 1:
        return numbers == ["over 100"] and values[1] > 100
    if not all(_is_written(*one) for one in zip(numbers, values, strict=True)):
        return False
    seen = [101.0 if one == "over 100" else float(one.replace(",", "").replace("−", "-")) for one in numbers[1:]]
    return datum is None or side_of(*seen, datum * scale) == side_of(*values[1:], datum * scale)


def _is_written(words: str, value: float) -> bool:
    if words == "over 100":
        return value > 100
    low, high = reach(words)
    return low - 1e-6 <= value <= high + 1e-6


def number_of(words: str) -> int:
    """`three` or `14` as a number."""
    words = words.lower()
    return FEW.index(words) if words in FEW else int(words.replace(",", ""))


def causes(firm: RandomFirm, *evidence: str) -> list[Effect]:
    """The causes with that evidence whose interval lies above no effect."""
    return [
        one
        for one in firm.of(Effect)
        if one.role == "cause" and one.evidence in evidence and side_of(one.contrast_low, one.contrast_high) > 0
    ]


def pair(firm: RandomFirm, found: Found, *evidence: str) -> Effect | None:
    """The claimed cause that a sentence names, by deviation (or what to do) and fault."""
    for one in causes(firm, *(evidence or ("strong", "suggestive"))):
        if one.words == found["d"].lower() and found.get("f", one.fault_words).lower() == one.fault_words:
            return one
    return None


def tells_ratio(firm: RandomFirm, found: Found, *evidence: str) -> bool:
    """The pair is claimed, and its interval is as told."""
    one = pair(firm, found, *evidence)
    return one is not None and is_told(found["i"], (one.contrast_ratio, one.contrast_low, one.contrast_high), datum=1.0)


def tells_spared(firm: RandomFirm, found: Found, *evidence: str) -> bool:
    """Some pair of the deviation is claimed, and what it spares lies above nothing and is as told."""
    return any(
        side_of(one.avoidable_low, one.avoidable_high, 0.0) > 0
        and is_told(found["i"], (one.avoidable_per_year, one.avoidable_low, one.avoidable_high), datum=0.0)
        for one in causes(firm, *(evidence or ("strong",)))
        if one.words == found["d"].lower() and found.get("f", one.fault_words).lower() == one.fault_words
    )


def weak(firm: RandomFirm, found: Found) -> WeakStep:
    """The crew and step of a sentence."""
    return next(
        one for one in firm.of(WeakStep)
        if f"crew {one.crew}".lower() == found["k"].lower() and one.step == found["s"].lower()
    )  # fmt: skip


def step_side(one: WeakStep) -> int:
    """More (1) or less (-1) often out than the firm: on ten doors, by its own share and by what is to be expected."""
    own = side_of(one.out_low, one.out_high, one.firm_out_share or 0.0)
    return own if one.doors >= 10 and own == side_of(one.shrunk_low, one.shrunk_high, one.firm_out_share or 0.0) else 0


def weak_sides(firm: RandomFirm, step: str = "") -> list[int]:
    """The sides of all crews with doors in a step, or in any."""
    return [step_side(one) for one in firm.of(WeakStep) if one.doors and step in ("", one.step)]


def crew(firm: RandomFirm, name: str) -> CrewRate:
    """The rates of a crew as a sentence names it."""
    return next(one for one in firm.of(CrewRate) if f"crew {one.crew}".lower() == name.lower())


def crew_side(one: CrewRate) -> int:
    """Apart from the firm: the funnel and the fair interval say so."""
    return agreed(one.funnel, one.fair_low, one.fair_high)


def agreed(funnel: str | None, low: float | None, high: float | None) -> int:
    """The side that a funnel and a fair interval both say."""
    side = side_of(low, high)
    return side if side == {"above": 1, "below": -1}.get(funnel or "", 0) else 0


def crew_hint(one: CrewRate) -> int:
    """Perhaps apart: the interval alone says so."""
    return 0 if crew_side(one) else side_of(one.fair_low, one.fair_high)


def crew_sides(firm: RandomFirm, side_of_one: Callable[[CrewRate], int] = crew_side) -> list[int]:
    """The sides of all crews that were watched."""
    return [side_of_one(one) for one in firm.of(CrewRate) if one.crew != "all" and one.door_years > 0]


def names_in(text: str, pattern: str) -> list[str]:
    """Names in a list of names; those that are only counted are not."""
    return re.findall(pattern, text, flags=re.IGNORECASE)


def sides_named(firm: RandomFirm, text: str, side_of_one: Callable[[CrewRate], int]) -> bool:
    """`crew A and crew B above and crew C below`: each on that side."""
    parts = re.findall(r"(.+?) (above|below)(?: and |$)", text)
    return bool(parts) and all(
        side_of_one(crew(firm, name)) == {"above": 1, "below": -1}[where]
        for named, where in parts
        for name in names_in(named, K)
    )
