"""Which way a word beside a reading points, and whether that is plus for its measure here.

A sill height is positive upwards; a fall of the sill, an offset across a jamb and one from a string line to the
outside; an offset in the plane of the door to the right. How people write it is common practice, no source.
"""

import re
from functools import cache

WAYS = {
    "up": ("high", "higher", "hi", "up", "upwards", "above", "proud", "rise"),
    "down": ("low", "lower", "lo", "down", "downwards", "below", "dip", "dips", "drop", "under", "hollow", "sag"),
    "out": ("out", "outside", "outward", "outwards", "outer", "front"),
    "in": ("in", "inside", "inward", "inwards", "inner", "back"),
    "right": ("right", "rh"),
    "left": ("left", "lh"),
}
OTHER_WAY = {"up": "down", "down": "up", "out": "in", "in": "out", "right": "left", "left": "right"}
PLUS_IS = {"sill_height": "up", "sill_tilt": "out", "jamb_face": "out", "sill_line": "out", "jamb_edge": "right"}
# Words beside a way that say that something points it: leans out, fall to the outside.
_POINTS = frozenset({"lean", "leans", "leaning", "fall", "falls", "falling", "bow", "bows", "bowed", "tilt", "tilts"})
_EMPTY = frozenset({"to", "towards", "toward", "the", "is", "it", "too", "by"})
# Seen from outside, front and back are exchanged; what was dropped or put under is no way.
_NO_WAY = frozenset({"front", "back", "outer", "inner", "drop", "under"})
_WAY_OF = {word: way for way, words in WAYS.items() for word in words if word not in _NO_WAY}
_SIGNS = {"plus": 1.0, "positive": 1.0, "minus": -1.0, "negative": -1.0}
# Bare, these may as well be inches, and that something is out of true.
IN_OR_OUT = frozenset({"in", "out"})
# Left and right are turned about for who looks from outside, so that a cell says neither.
_NO_VIEW = frozenset({"up", "down", "in", "out"})
_BESIDE = re.compile(
    rf"(?P<before>.*[\d\"'¼-¾⅐-⅞]\s*(?:mm|cm|in)?)[\s(]+(?:{'|'.join([*_WAY_OF, *_SIGNS])})\)?"
    rf"|(?:{'|'.join([*_WAY_OF, *_SIGNS])})\s+(?P<after>[\d¼-¾⅐-⅞.].*)",
    re.IGNORECASE,
)
_ENDS = re.compile(r"[\d\s\"](in|out)\)?$", re.IGNORECASE)
_INCHES_TOO = re.compile(r"\bin\.?\s+(?:in|out)\)?$", re.IGNORECASE)


class WayEvidence:
    """What the readings of a sheet show of in and out: by measure, which of them cells end with."""

    def __init__(self) -> None:
        self._ends: dict[str, set[str]] = {}

    def add(self, measure: str, text: str) -> None:
        """Takes in a cell of a reading."""
        ends = self._ends.setdefault(measure, set())
        if _INCHES_TOO.search(text):
            # who writes inches so does not mean a way by in
            ends.add("inches")
        elif found := _ENDS.search(text):
            ends.add(found[1].casefold())

    @property
    def both(self) -> frozenset[str]:
        """Measures of which some cells say in and others out, so that both are ways."""
        return frozenset(measure for measure, ends in self._ends.items() if ends == {"in", "out"})


def without_way(text: str) -> str:
    """A text without the word of direction that stands beside its number."""
    found = _BESIDE.fullmatch(text)
    return (found["before"] or found["after"]).strip() if found else text


@cache
def factor_of(measure: str, side: str, is_way: bool) -> float | None:
    """1 where the words beside a number mean plus for its measure, -1 for minus, None where they say neither.

    is_way  the sheet shows that in and out are ways that this measure goes, not inches or being out of true
    """
    own = PLUS_IS.get(measure)
    words = re.findall(r"[a-z]+", side.casefold())
    said = [word for word in words if word not in _EMPTY]
    if own is None or not said:
        return None
    if len(said) == 1 and said[0] in _SIGNS:
        return _SIGNS[said[0]]
    ways = [word for word in said if word not in _POINTS]
    if len(ways) != 1 or (len(said) == 1 == len(words) and ways[0] in IN_OR_OUT and not is_way):
        return None
    way = _WAY_OF.get(ways[0])
    if way not in _NO_VIEW or way not in (own, OTHER_WAY[own]):
        return None
    return 1.0 if way == own else -1.0
