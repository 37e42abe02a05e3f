"""In which of its two planes a jamb was read, where a heading leaves it open and a note says which way is plus.

Plumb: + = leans out is across the door. How sheets say so is common practice, no source.
"""

import re

from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.words.meaning import PLANES, reading_meaning
from pipeline.ingest.matching.words.signs import without_sign

_WORD = re.compile(r"[a-z]+")
# Words of direction, and how a heading names their plane.
_BOTH_WAYS = {"in": "in/out", "out": "in/out", "left": "side to side", "right": "side to side"}
_OF_JAMBS = re.compile(r"\b(?:plumb\w*|jambs?|lean\w*|uprights?|verticals?)\b", re.IGNORECASE)


def planes_by_notes(layout: Layout) -> dict[str, str]:
    """By heading (folded) of a jamb in one of two planes: what it says with the way that notes say to be plus."""
    by_cells = _by_cells(layout)
    parts = [part for note in layout.notes for part in re.split(r"[;.|\n]", note) if _OF_JAMBS.search(part)]
    ways = {way for part in parts if (way := without_sign(part)[1]) in PLANES}
    if len(ways) != 1:
        return by_cells
    (way,) = ways
    open_ones = [heading for heading in layout.evidence if _is_open(layout.said(heading))]
    return by_cells | {heading: f"{layout.said(heading)} (+ = {way})" for heading in open_ones}


def _by_cells(layout: Layout) -> dict[str, str]:
    """The same where cells say both ways of one plane beside their numbers: 2 out, 1 in."""
    found = {}
    for heading, evidence in layout.evidence.items():
        said = {word for text in evidence.texts for word in _WORD.findall(text)} & _BOTH_WAYS.keys()
        planes = {_BOTH_WAYS[word] for word in said}
        if len(planes) == 1 and len({word[:1] for word in said}) > 1 and _is_open(layout.said(heading)):
            found[heading] = f"{layout.said(heading)} {planes.pop()}"
    return found


def _is_open(heading: str) -> bool:
    """Whether a heading may say either plane of a jamb."""
    meaning = reading_meaning(heading)
    planes = set(PLANES.values())
    return meaning is not None and meaning.name in planes and meaning.rival in planes and not without_sign(heading)[1]
