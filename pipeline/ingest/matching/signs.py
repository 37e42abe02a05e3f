"""Which way is plus: a heading that counts dips of a sill, or a fall to the inside, as positive is left to a person.

Here a sill height is positive upwards, a fall of the sill and an offset across a jamb to the outside, an offset in the
plane of the door to the right. How headings say it is common practice, no source.
"""

import re
from functools import lru_cache

_WAYS = {
    "up": ("high", "higher", "up", "above", "proud", "rise"),
    "down": ("low", "lower", "down", "below", "dip", "dips", "drop", "under", "hollow", "sag", "packing", "pack"),
    "out": ("out", "outside", "outward", "outwards", "outer", "front"),
    "in": ("in", "inside", "inward", "inwards", "inner", "back"),
    "right": ("right", "rh"),
    "left": ("left", "lh"),
}
_WAY_OF = {word: way for way, words in _WAYS.items() for word in words}
_OTHER_WAY = {"up": "down", "down": "up", "out": "in", "in": "out", "right": "left", "left": "right"}
_PLUS_IS = {"sill_height": "up", "sill_tilt": "out", "jamb_face": "out", "sill_line": "out", "jamb_edge": "right"}
_TO = r"(?:to\s+|towards?\s+)?(?:the\s+)?"
# A bare plus may join two things: parts + labour.
_PLUS = re.compile(
    rf"(?<![\w+])\+(?:\s*(?:ve\s*)?(?:=|:|is\b|means\b)\s*{_TO}([a-z]+)|\s*(?:ve\s+)?{_TO}({'|'.join(_WAY_OF)})\b)"
)
_MINUS = re.compile(rf"(?<!\w)[-−–](?:\s*ve)?\s*(?:=|:|is\b|means\b)\s*{_TO}([a-z]+)")
_IS_PLUS = re.compile(r"\b([a-z]+)\s*(?:=|:|is)\s*\+")
_IN_BRACKETS = re.compile(r"\s*[(\[]([^()\[\]]*)[)\]]")
_UNIT_BEFORE = re.compile(r"\s*(mm|cm|in|inches)\b\s*[,;]?\s*")


@lru_cache(maxsize=50_000)
def without_sign(heading: str) -> tuple[str, str]:
    """(the heading without what it says of plus and minus, the word for what plus is; empty where it says nothing)."""
    text = heading.casefold()
    found = next((one for pattern in (_PLUS, _IS_PLUS) if (one := pattern.search(text))), None)
    other = None if found else _MINUS.search(text)
    if found is None and other is None:
        return heading, ""
    at = found or other
    assert at is not None
    said = next(filter(None, at.groups()))
    word = said if found else _OTHER_WAY.get(_WAY_OF.get(said, ""), said)
    for bracket in _IN_BRACKETS.finditer(text):
        if bracket.start() <= at.start() < bracket.end():
            unit = _UNIT_BEFORE.match(bracket[1])
            kept = f" ({unit[1]})" if unit else ""
            return heading[: bracket.start()] + kept + heading[bracket.end() :], word
    return heading[: at.start()].rstrip(" ,;") + heading[at.end() :], word


def contrary(measure: str, heading: str, plus: str) -> str:
    """The word by which a heading counts the other way than its measure does here; empty where it does not."""
    way = _PLUS_IS.get(measure)
    if way is None:
        return ""
    if plus:
        return "" if _WAY_OF.get(plus) == way else f"+ {plus}"
    if way not in ("up", "out"):
        return ""
    words = re.findall(r"[a-z]+", heading.casefold())
    if any(_WAY_OF.get(word) == way for word in words):
        # both ways are named: in/out
        return ""
    return next((word for word in words if _WAY_OF.get(word) == _OTHER_WAY[way] and word != "lower"), "")
