"""What the words of a heading say beside the measure: which member, which station, where along it."""

import re
from dataclasses import dataclass, field, replace

from pipeline.ingest.matching.words.vocabulary import words_of

# Corners as the trade letters them from inside: A bottom left, B bottom right, C top right, D top left.
_RISING = ({"a", "c"}, {"ac"}, {"ca"}, {"bl", "tr"}, {"rising"}, {"up"}, {"bottom", "left", "up"}, {"1"}, {"a"})
_FALLING = (
    {"b", "d"},
    {"bd"},
    {"db"},
    {"tl", "br"},
    {"falling"},
    {"down"},
    {"dn"},
    {"dwn"},
    {"top", "left", "down"},
    {"2"},
    {"b"},
)
# From corner to corner, whichever is named first, and each by either of its words first: bottom left to right top.
_CORNERS = {
    frozenset({frozenset({"bottom", "left"}), frozenset({"top", "right"})}): "rising",
    frozenset({frozenset({"top", "left"}), frozenset({"bottom", "right"})}): "falling",
}
_CORNER_LETTERS = {
    "bl": ("bottom", "left"), "br": ("bottom", "right"), "tl": ("top", "left"), "tr": ("top", "right"),
    "lb": ("bottom", "left"), "rb": ("bottom", "right"), "lt": ("top", "left"), "rt": ("top", "right"),
    "ll": ("bottom", "left"), "lr": ("bottom", "right"), "ul": ("top", "left"), "ur": ("top", "right"),
    "l": ("left",), "r": ("right",), "b": ("bottom",), "t": ("top",),
}  # fmt: skip
_QUARTERS = {"quarter": 0.25, "threequarter": 0.75}
_SIDES = {
    "left": 0.0,
    "l": 0.0,
    "centre": 0.5,
    "c": 0.5,
    "m": 0.5,
    "right": 1.0,
    "r": 1.0,
    "started": 0.0,
    "end": 1.0,
    **_QUARTERS,
}
_HEIGHTS = {"bottom": 0.0, "b": 0.0, "centre": 0.5, "c": 0.5, "m": 0.5, "top": 1.0, "t": 1.0, **_QUARTERS}
_FULL = {"l": "left", "c": "centre", "m": "centre", "r": "right", "b": "bottom", "t": "top"}
_LEAF_ENDS = {"hinge": "hinge", "h": "hinge", "lock": "lock", "l": "lock", "left": "left", "right": "right"}
_MEMBERS = ("left_jamb", "right_jamb", "head", "sill")

LEAF_MEASURES = frozenset({
    "head_gap", "threshold_gap", "side_gap", "leaf_diagonal", "hinge_packers", "seal_compression", "running_force",
})  # fmt: skip
LEAF_CHECKS = frozenset({"toe_and_heel", "packs_bonded", "beads_seated"})
LEAF_GAPS = frozenset({"head_gap", "threshold_gap", "side_gap"})
MEMBER_MEASURES = frozenset({"jamb_face", "jamb_edge", "fixing", "packer", "perimeter_gap"})
_DIAGONALS = frozenset({"aperture_diagonal", "frame_diagonal", "leaf_diagonal"})
ALONG_SILL = frozenset({"sill_height", "sill_line", "sill_tilt", "clear_height", "aperture_height", "frame_height"})
_ALONG_HEIGHT = frozenset({"aperture_width", "frame_width"})
# Words beside a distance that say from where, or which way, it is counted.
_COUNTED_FROM = frozenset({"up", "left", "l", "bottom", "b", "sill", "right", "r", "top", "t", "down", "head"})
# Words for a leaf that do not number it.
_ONE_LEAF = frozenset({"all", "each", "every", "leaf", "traffic", "door", "master", "lead", "access"})
# Read at several places of a leaf, which are numbered: packers of hinge 2.
_NUMBERED = frozenset({"hinge_packers"})
# Of these a deviation is made that asks where along the member they stand.
SPREAD = frozenset({"sill_height", "sill_line", "sill_tilt", "clear_height", "jamb_face", "jamb_edge"})
MOST_LEAVES = 20
# Before or behind a number of mm, height is where on a jamb it was read: off line at height / 1000, 300 mm height. One
# of something else is a size: frame height 2100. So is one that something is read over: out of plumb over height 2100.
_UP_FROM = r"(?:up|above|over|from)(?:\s+(?:the\s+)?(?:sill|cill|bottom|floor|foot|jamb|threshold))?"
_AT_HEIGHT = re.compile(
    r"(?<!frame )(?<!door )(?<!opening )(?<!overall )(?<!leaf )(?<!over )(?<!per )(?<!full )"
    rf"\b(?:at\s+)?(?:an?\s+)?heights?(?:\s+{_UP_FROM}|\s+of)?(?:\s*[(\[]?mm[)\]]?)?"
    r"(?:[\s/:,=-]*(?=\b(?:\d{2,4}|\d\.\d+\s*m)\b)|(?=\s*/[^/\d]+/\s*\d{2,4}\b))|(?<=\d)(?:\s*mm)?\s+height\b",
    re.IGNORECASE,
)
# Packers behind hinges are counted here by those of 1 mm; how many of another thickness is left to a person.
_OF_ONE_MM = re.compile(r"\b1\s*mm\s+(?=(?:packers?|packs?|shims?|spacers?)\b)", re.IGNORECASE)
# Beside a height in mm a word says once more where that is: top (2000 mm), middle 1050. A number that is too small to
# be a height near the top may be counted down from it, and what says so is.
_NAMED_HEIGHT = re.compile(
    r"\b(?:(top|upper)|mid(?:dle)?|cent(?:re|er))\b[\s,;:@=-]*(?:[(\[]\s*)?(?:at\s+)?"
    r"(\d{3,4}(?=\s*(?:mm\b|[)\],]|$))|\d\.\d+(?=\s*m\b))",
    re.IGNORECASE,
)
_COUNTED_DOWN = re.compile(r"\b(?:from|down|below|under|beneath)\b", re.IGNORECASE)
_NEAR_THE_TOP = 1200.0
_READ_AT_HEIGHTS = frozenset({"jamb_face", "jamb_edge", "perimeter_gap"})
# A bare number as large as this is a distance in mm, a smaller one counts.
SMALLEST_DISTANCE = 25.0


@dataclass(frozen=True)
class Place:
    """member, station, position_mm as canonical texts; share: 0 to 1 of the door's `along` (width or height).

    left  words of the heading that were not understood
    """

    member: str = ""
    station: str = ""
    position_mm: str = ""
    share: float | None = None
    along: str = ""
    left: tuple[str, ...] = field(default=())


def is_place(text: str) -> bool:
    """Whether a heading says where something was read and nothing else: left, centre, hinge side."""
    words = words_of(text)
    return bool(words) and set(words) <= _SIDES.keys() | _HEIGHTS.keys() | _LEAF_ENDS.keys()


def is_distance(text: str) -> bool:
    """Whether a heading says how far along something was read and nothing else: at 300 mm up, 900 from left."""
    words = words_of(text)
    numbers = [word for word in words if _is_distance(word)]
    return len(numbers) == 1 and set(words) - set(numbers) <= _COUNTED_FROM


def without_other_numbers(measure: str, heading: str) -> str:
    """A heading without what goes with its numbers: the height up a jamb that one is, the packers of 1 mm counted."""
    if measure == "hinge_packers":
        return _OF_ONE_MM.sub("", heading)
    return _without_named_height(_AT_HEIGHT.sub(" ", heading)) if measure in _READ_AT_HEIGHTS else heading


def _without_named_height(heading: str) -> str:
    """A heading without the word for a height that a number says as well."""
    found = _NAMED_HEIGHT.search(heading)
    if found is None or _COUNTED_DOWN.search(heading):
        return heading
    height = float(found[2]) * (1000.0 if "." in found[2] else 1.0)
    if found[1] and height < _NEAR_THE_TOP:
        return heading
    return f"{heading[: found.start()]} {heading[found.start(2) :]}"


def find_place(measure: str, words: tuple[str, ...]) -> Place:
    """The place that the words left of a heading say, for a measure."""
    place = Place(left=words)
    if measure in LEAF_MEASURES:
        place = _with_leaf(measure, place)
    if measure in MEMBER_MEASURES:
        place = _with_member(place)
    if measure in _DIAGONALS:
        return _with_diagonal(place)
    if measure in ("head_gap", "threshold_gap"):
        return _with_station(
            place, {"hinge": "hinge", "h": "hinge", "lock": "lock", "l": "lock", **_plain("left right r")}
        )
    if measure == "side_gap":
        return _with_station(place, {"top": "top", "t": "top", "bottom": "bottom", "b": "bottom", **_plain("centre")})
    if measure in ALONG_SILL or (measure == "perimeter_gap" and place.member in ("head", "sill")):
        return _with_share(place, _SIDES, "width")
    if measure in _ALONG_HEIGHT:
        # the width at the sill is that at the bottom
        place = replace(place, left=tuple({"sill": "bottom", "head": "top"}.get(word, word) for word in place.left))
    if measure in _ALONG_HEIGHT or (measure in ("jamb_face", "jamb_edge", "perimeter_gap") and place.member):
        return _with_share(place, _HEIGHTS, "height")
    return _with_ordinal(place)


def _plain(words: str) -> dict[str, str]:
    return {word: _FULL.get(word, word) for word in words.split()}


def _with_leaf(measure: str, place: Place) -> Place:
    words = list(place.left)
    at = _leaf_number_at(words, is_named=measure in _NUMBERED)
    if at is None:
        return replace(place, left=tuple(word for word in words if word not in _ONE_LEAF))
    before = words[at - 1] if at else ""
    number = int(words.pop(at))
    if before in ("l", "p"):
        words.pop(at - 1)
    left = tuple(word for word in words if word not in ("leaf", "door"))
    return replace(place, member=f"leaf_{number}", left=left)


def _leaf_number_at(words: list[str], *, is_named: bool) -> int | None:
    """Where the number of the leaf stands: right after the word, else the first number where the word is not needed."""
    numbers = [n for n, word in enumerate(words) if _is_leaf_number(word)]
    after = [n for n in numbers if n and words[n - 1] in ("leaf", "l", "p", "door")]
    return next(iter(after or ([] if is_named else numbers)), None)


def _is_leaf_number(word: str) -> bool:
    return word.isdecimal() and 1 <= int(word) <= MOST_LEAVES


def _with_member(place: Place) -> Place:
    words = [word for word in place.left if word != "jamb"]
    # beside the head or the sill a side says which end of it, and no jamb
    is_across = "jamb" not in place.left and bool({"head", "sill"} & set(words))
    for word, member in (("left", "left_jamb"), ("l", "left_jamb"), ("right", "right_jamb"), ("r", "right_jamb")):
        if word in words and not is_across:
            words.remove(word)
            return replace(place, member=member, left=tuple(words))
    # a jamb's fixing counted from the sill is none of the sill
    for member in () if "jamb" in place.left else _MEMBERS:
        if member in words:
            words.remove(member)
            return replace(place, member=member, left=tuple(words))
    return replace(place, left=tuple(words))


def _with_diagonal(place: Place) -> Place:
    words = set(place.left)
    named = [word for word in place.left if word not in ("1", "2")] if len(words) > 1 else place.left
    spelt = [part for word in named for part in _CORNER_LETTERS.get(word, (word,))]
    if len(spelt) == 4 and (station := _CORNERS.get(frozenset({frozenset(spelt[:2]), frozenset(spelt[2:])}))):
        return replace(place, station=station, left=())
    for station, ways in (("rising", _RISING), ("falling", _FALLING)):
        for way in ways:
            if way == words:
                return replace(place, station=station, left=())
    return place


def _with_station(place: Place, known: dict[str, str]) -> Place:
    found = [word for word in place.left if word in known]
    if len({known[word] for word in found}) != 1:
        return place
    left = tuple(word for word in place.left if word not in found)
    return replace(place, station=known[found[0]], left=left)


def _with_share(place: Place, shares: dict[str, float], along: str) -> Place:
    found = [word for word in place.left if word in shares]
    if len(found) == 2 and found[1] == "end":
        # the left end is the left
        place = replace(place, left=tuple(word for word in place.left if word != "end"))
        found = found[:1]
    if len(found) == 1:
        left = tuple(word for word in place.left if word != found[0])
        if numbers := [word for word in left if _is_distance(word)]:
            return _counted_from(place, shares[found[0]], numbers[0], found[0])
        word = _FULL.get(found[0], found[0])
        return replace(place, station=word, share=shares[found[0]], along=along, left=left)
    return _with_ordinal(place)


def _counted_from(place: Place, share: float, number: str, end: str) -> Place:
    """A distance counted from an end: 750 from left. From the other end it is not known without the door's size."""
    if share:
        return place
    return replace(place, position_mm=number, left=tuple(word for word in place.left if word not in (number, end)))


def _is_distance(word: str) -> bool:
    """Whether a number is a distance in mm, not a count."""
    return word.replace(".", "", 1).isdecimal() and (float(word) == 0 or float(word) >= SMALLEST_DISTANCE)


def _with_ordinal(place: Place) -> Place:
    """A single number: a distance in mm where it is large enough or zero, else which one of several."""
    numbers = [word for word in place.left if word.replace(".", "", 1).isdecimal()]
    if len(numbers) != 1:
        return _with_station(place, _plain("top centre bottom left right t b"))
    left = tuple(word for word in place.left if word != numbers[0] and word not in ("hinge", "position", "station"))
    if _is_distance(numbers[0]):
        return replace(place, position_mm=numbers[0], left=left)
    return replace(place, station=numbers[0], left=left)
