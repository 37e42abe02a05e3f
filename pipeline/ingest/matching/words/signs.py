"""Which way is plus, as headings and notes of a sheet say it: + = low, dip at centre, all levels: minus is high.

Which way it is here stands in directions. How headings say it is common practice, no source.
"""

import re
from functools import lru_cache

from pipeline.ingest.texts.directions import OTHER_WAY, PLUS_IS, WAYS

# What a sill lacks is how far it is low: sill packing.
_WAY_OF = {word: way for way, words in WAYS.items() for word in words} | {"packing": "down", "pack": "down"}
# Words for how deep something lies: a number under them has no minus.
DEPTHS = frozenset({"dip", "dips", "drop", "hollow", "sag"})
# What has to be raised is low, whatever words stand beside: needs packing up.
_RAISED = frozenset(
    {"packing", "pack", "packers", "shim", "shims", "shimming", "raising", "raise", "lifting", "jacking"}
)
_PHRASE = re.compile(r"[a-z' ]+")
_TO = r"(?:(?:lean|fall|bow)(?:s|ing|ed)?\s+)?(?:to\s+|towards?\s+)?(?:the\s+)?"
_SPELT = (
    (re.compile(r"\b(?:plus|positive)\b|\+\s*ve\b", re.IGNORECASE), "+"),
    (re.compile(r"\b(?:minus|negative)\b", re.IGNORECASE), "-"),
)
# A bare plus may join two things: parts + labour.
_PLUS = re.compile(
    rf"(?<![\w+])\+(?:\s*(?:ve\s*)?(?:=|:|is\b|means\b)\s*{_TO}([a-z]+)|\s*(?:ve\s+)?{_TO}({'|'.join(_WAY_OF)})\b)"
)
_MINUS = re.compile(rf"(?<!\w)[-−–](?:\s*ve)?\s*(?:=|:|is\b|means\b)\s*{_TO}([a-z]+)")
_IS_PLUS = re.compile(rf"\b([a-z]+)\s*(?:=|:|is)\s*\+|\b({'|'.join(_WAY_OF)})\s*\+(?=$|[\s)\],;])(?!\s*[a-z\d])")
_IN_BRACKETS = re.compile(r"\s*[(\[]([^()\[\]]*)[)\]]")
_SEEN_FROM_INSIDE = re.compile(
    r"[(\[]?\s*\b(?:as\s+|when\s+)?(?:(?:viewed|seen|looking|looked\s+at)\s+from|(?:stood|standing)(?:\s+on)?)\s+(?:the\s+)?"
    r"(?:inside|indoors)\b(?:\s+(?:of\s+)?(?:the\s+)?(?:room|house|building)\b)?(?!\s*(?:/|&|\+|-|or\b|and\b)?\s*out)"
    r"(?:\s*[)\]])?",
    re.IGNORECASE,
)
# Over the lowest point it is how high, not how low.
_OVER_THE_LOW = re.compile(r"\b(?:above|over)\s+(?:the\s+|its\s+)?low(?:est)?\b")
_UNIT_BEFORE = re.compile(r"\s*(mm|cm|in|inches)\b\s*[,;]?\s*")


def without_view(heading: str) -> str:
    """A heading without the words that left and right are seen from inside, as they are here; from outside is left."""
    return _SEEN_FROM_INSIDE.sub(" ", heading)


@lru_cache(maxsize=50_000)
def without_sign(heading: str) -> tuple[str, str]:
    """(the heading without what it says of plus and minus, the word for what plus is; empty where it says nothing)."""
    as_written = heading
    for spelt, sign in _SPELT:
        heading = spelt.sub(sign, heading)
    text = heading.casefold()
    found = next((one for pattern in (_PLUS, _IS_PLUS) if (one := pattern.search(text))), None)
    other = None if found else _MINUS.search(text)
    if found is None and other is None:
        return as_written, ""
    at = found or other
    assert at is not None
    said = next(filter(None, at.groups()))
    said, end = _way_in(said, text, at)
    word = said if found else OTHER_WAY.get(_WAY_OF.get(said, ""), said)
    for bracket in _IN_BRACKETS.finditer(text):
        if bracket.start() <= at.start() < bracket.end():
            unit = _UNIT_BEFORE.match(bracket[1])
            kept = f" ({unit[1]})" if unit else ""
            return heading[: bracket.start()] + kept + heading[bracket.end() :], word
    return heading[: at.start()].rstrip(" ,;") + heading[end:], word


def _way_in(said: str, text: str, at: re.Match[str]) -> tuple[str, int]:
    """(the word that says the way, where what is said ends): needs packing up says that it is low."""
    if said in _WAY_OF or not text.startswith(said, at.end() - len(said)):
        return said, at.end()
    phrase = _PHRASE.match(text, at.end() - len(said))
    assert phrase is not None
    words = phrase[0].split()
    if set(words) & _RAISED:
        return "packing", phrase.end()
    ways = {_WAY_OF[word]: word for word in words if word in _WAY_OF}
    return (next(iter(ways.values())), phrase.end()) if len(ways) == 1 else (said, at.end())


def contrary(measure: str, heading: str, plus: str) -> str:
    """The word by which a heading counts the other way than its measure does here; empty where it does not."""
    way = PLUS_IS.get(measure)
    if way is None:
        return ""
    if plus:
        return "" if _WAY_OF.get(plus) == way else f"+ {plus}"
    if way not in ("up", "out"):
        return ""
    plain = _OVER_THE_LOW.sub(" ", heading.casefold().replace("in plan", "plan"))
    words = re.findall(r"[a-z]+", plain)
    if any(_WAY_OF.get(word) == way for word in words):
        # both ways are named: in/out
        return ""
    return next((word for word in words if _WAY_OF.get(word) == OTHER_WAY[way] and word != "lower"), "")


def is_other_way(measure: str, plus: str) -> bool:
    """Whether a word for what plus is means the other way than the measure has here."""
    way = PLUS_IS.get(measure)
    return way is not None and _WAY_OF.get(plus) == OTHER_WAY[way]


# Where notes speak of one thing only; of a measure that none of them names they speak where they name nothing.
_OF = {
    "sill_height": ("sill", "cill", "threshold", "level", "levels", "track"), "sill_tilt": ("fall", "tilt"),
    "jamb_face": ("jamb", "jambs", "plumb", "lean"), "jamb_edge": ("jamb", "jambs", "plumb", "lean"),
    "sill_line": ("string", "line"),
}  # fmt: skip


def turned_by_notes(notes: list[str]) -> dict[str, str]:
    """By measure, the part of a note that says it counts the other way; none of which notes say two things."""
    said: dict[str, dict[bool, str]] = {}
    for part in (part for note in notes for part in re.split(r"[;.|\n]|,(?=[^,]*[=:])", note)):
        plus = without_sign(part)[1]
        words = set(re.findall(r"[a-z]+", part.casefold()))
        named = {measure for measure, of in _OF.items() if words & set(of)}
        for measure in PLUS_IS if plus else ():
            if _WAY_OF.get(plus) in (PLUS_IS[measure], OTHER_WAY[PLUS_IS[measure]]) and measure in (named or PLUS_IS):
                said.setdefault(measure, {})[is_other_way(measure, plus)] = " ".join(part.split())
    return {measure: ways[True] for measure, ways in said.items() if set(ways) == {True}}
