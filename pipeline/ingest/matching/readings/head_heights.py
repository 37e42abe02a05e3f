"""Columns headed Head height, L, C and R: the clear height under the head, where it is nothing else.

A clear opening height is no clear height either where its numbers are larger than the doors.

Beside heights of the sill they may be over the same datum as those, and where the numbers are no heights of a door
they are over some line: a person decides. How such sheets look is common practice, no source.
"""

import re
from dataclasses import replace
from statistics import median

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.evidence import units_that_fit
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.readings.middles import middles
from pipeline.ingest.matching.sheet.headings import without_number
from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.matching.words.meaning import SURE, column_likeness, reading_meaning
from pipeline.ingest.matching.words.vocabulary import words_of
from pipeline.ingest.records import INSTALLS
from pipeline.ingest.texts.numbers import read_number

# A clearance is a gap, unless it is larger than any.
_HEAD_HEIGHT, _CLEARANCE, _NO_GAP = frozenset({"head", "height"}), frozenset({"head", "gap"}), 50.0
_WAYS = (_HEAD_HEIGHT, _CLEARANCE)
# Words beside these that say no more: height at the underside of the head, to the head.
_BESIDE = frozenset({"under", "underside", "internal", "inside", "door"})
# One place says nothing of what it is; two at least lie along the head.
_FEWEST_PLACES = 2
# How much of the height of a door is clear under its head, at least.
_CLEAR_OF_HEIGHT = 0.85
_OPENING = re.compile(r"\b(?:opening|aperture)\b")
_OF_THE_WALL = "its numbers are larger than the doors; it may be the height of the opening in the wall"


def clear_under_head(layout: Layout) -> dict[str, str]:
    """By heading (folded) of a height of the head at a place along it, what it says in full: clear height L."""
    middle = middles(layout)
    texts = {heading: middle.get(heading, without_number(layout.said(heading))) for heading in layout.evidence}
    found = {heading: full for heading, text in texts.items() if (full := _in_full(text))}
    if len(found) < _FEWEST_PLACES or any(_is_of_the_sill(text) for text in texts.values()):
        return {}
    are_said = (_are_of_doors(layout, one, full) and _are_no_gaps(layout, one) for one, full in found.items())
    return found if all(are_said) else {}


def _in_full(text: str) -> str | None:
    """A heading of a height of the head as one of a clear height, where a place along it is all it says more."""
    said, unit = split_unit(text)
    words = words_of(said)
    if not any(set(words) >= way for way in _WAYS):
        return None
    rest = [word for word in words if word not in _HEAD_HEIGHT | _BESIDE | _CLEARANCE]
    full = " ".join(("clear height", *rest, *((f"({unit})",) if unit else ())))
    meaning = reading_meaning(full)
    if not rest or meaning is None or meaning.sure < SURE or meaning.place.share is None:
        return None
    return None if meaning.place.left else full


def _are_no_gaps(layout: Layout, heading: str) -> bool:
    """Whether numbers are too large for gaps, where the heading may mean gaps."""
    may_be = set(words_of(layout.said(heading))) >= _CLEARANCE
    return not may_be or median(layout.evidence[heading].values) >= _NO_GAP


def _is_of_the_sill(text: str) -> bool:
    meaning = reading_meaning(text)
    return meaning is not None and meaning.name == "sill_height" and meaning.sure >= SURE


def _are_of_doors(layout: Layout, heading: str, full: str) -> bool:
    """Whether numbers are clear heights as doors have them, a little less than the height of the same doors if said."""
    evidence = layout.evidence[heading]
    if not evidence.values or not units_that_fit("clear_height", evidence):
        return False
    others = [one for one in layout.evidence if one != folded(heading) and layout.evidence[one].values]
    named = [one for one in others if _says_height(layout, one)]
    heights = [layout.evidence[one].values for one in named]
    if len(heights) != 1 or split_unit(full)[1]:
        return True
    return _CLEAR_OF_HEIGHT <= median(evidence.values) / max(1.0, median(heights[0])) <= 1.0


def too_high_for_doors(found: dict[str, Proposed], layout: Layout) -> dict[str, Proposed]:
    """The entries; heights of an opening above those of the same doors are in doubt: they may be the wall's."""
    heights = [_median(layout, one) for one in layout.evidence if _says_height(layout, one)]
    if len(heights) != 1 or not heights[0]:
        return found
    return {
        heading: replace(one, sure=0.0, doubt=_OF_THE_WALL)
        if _OPENING.search(heading) and _measure(one) == "clear_height" and _median(layout, heading) > heights[0]
        else one
        for heading, one in found.items()
    }


def _says_height(layout: Layout, heading: str) -> bool:
    return column_likeness(INSTALLS.name, "height_mm", layout.said(heading)) >= SURE


def _measure(one: Proposed) -> str:
    return dict(one.each.fixed).get("measure", "")


def _median(layout: Layout, heading: str) -> float:
    """The middle of the different numbers of a column, fractions too; 0 where it has none."""
    numbers = [number.value for text in layout.evidence[heading].texts if (number := read_number(text)[0])]
    return median(numbers) if numbers else 0.0
