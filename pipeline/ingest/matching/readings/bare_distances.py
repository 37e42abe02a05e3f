"""How far along a member a bare number of a heading says, in a sheet of inches: Left jamb face at 12, at 72.

Where the numbers may be inches as well as mm a person says which: a place that is none is worse than no reading. How
such sheets are headed is common practice, no source.
"""

import re
from dataclasses import replace

from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.matching.words.places import ALONG_SILL, SMALLEST_DISTANCE, SPREAD

_READ_ALONG = SPREAD | {"perimeter_gap"}
_INCH = 25.4
# No jamb and no sill is longer, in inches; as a door's height one number alone is hardly mm up to here.
_LONGEST, _LONGEST_SILL, _PLAINLY = 157.0, 374.0, 96.0
_AT = re.compile(r"(?:\bat|@)\s*\d", re.IGNORECASE)
_OPEN = "it does not say whether its distance is in mm or inches; write it with its unit, such as 12 in"


def in_their_unit(entries: list[Proposed]) -> list[Proposed]:
    """The entries; bare numbers that say where along a member in inches as mm, and in doubt where they may be either.

    What counts stations, 1, 2 and 3, counts them in any sheet.
    """
    groups: dict[tuple[str, str], dict[int, float]] = {}
    for place, one in enumerate(entries):
        fixed = dict(one.each.fixed)
        number = _bare_number(one) if one.sure >= SURE and fixed.get("measure") in _READ_ALONG else None
        if number:
            groups.setdefault((fixed["measure"], fixed.get("member", "")), {})[place] = number
    made = list(entries)
    for (measure, _), numbers in groups.items():
        made_of_group = _of_group([entries[place] for place in numbers], list(numbers.values()), measure)
        for place, one in zip(numbers, made_of_group, strict=True):
            made[place] = one
    return made


def _bare_number(one: Proposed) -> float | None:
    """The number that says where, written without a unit; None where there is none."""
    fixed = dict(one.each.fixed)
    number = fixed.get("position_mm") or fixed.get("station", "")
    if not number.replace(".", "", 1).isdecimal():
        return None
    # a unit, a share, or a stroke of a fraction behind it says more than the number
    written = one.each.heading or one.each.item or ""
    is_bare = re.search(rf"(?<![\d.,/]){re.escape(number)}(?![\d.,/]|\s*(?:[a-z]?m\b|in|ft|feet|[\"'”’″%]))", written)
    return float(number) if is_bare else None


def _of_group(entries: list[Proposed], numbers: list[float], measure: str) -> list[Proposed]:
    """The entries of one measure along one member, whose numbers are told together."""
    if sorted(numbers) == list(range(1, len(numbers) + 1)):
        return entries
    longest, farthest = (_LONGEST_SILL if measure in ALONG_SILL else _LONGEST), max(numbers)
    is_small = [number < SMALLEST_DISTANCE for number in numbers]
    units = {dict(one.each.fixed).get("unit", "") for one in entries}
    if farthest <= longest and "in" in units:
        is_sure = units == {"in"} and (len(numbers) > 1 or farthest <= _PLAINLY)
        return [_at(one, number) if is_sure else _doubtful(one) for one, number in zip(entries, numbers, strict=True)]
    if any(is_small) and not all(is_small):
        return [_doubtful(one) for one in entries] if farthest <= longest else _without(entries, is_small)
    is_at = [small and bool(_AT.search(one.each.heading or "")) for one, small in zip(entries, is_small, strict=True)]
    return _without(entries, is_at)


def _without(entries: list[Proposed], which: list[bool]) -> list[Proposed]:
    return [_doubtful(one) if is_one else one for one, is_one in zip(entries, which, strict=True)]


def _at(one: Proposed, inches: float) -> Proposed:
    """The entry at a distance in inches."""
    fixed = {name: text for name, text in one.each.fixed if name != "station"}
    unit = fixed.pop("unit", "")
    fixed |= {"position_mm": f"{inches * _INCH:g}", "unit": unit}
    why = f"{one.why}; {inches:g} in along it, as its numbers are in inches"
    return replace(one, each=replace(one.each, fixed=tuple(fixed.items())), why=why)


def _doubtful(one: Proposed) -> Proposed:
    return replace(one, sure=0.0, doubt=_OPEN)
