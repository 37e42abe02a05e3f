"""The unit that a heading names, and distances in it in mm. How people write them is common practice, no source."""

import re
from collections.abc import Iterable
from itertools import pairwise

from pipeline.ingest.matching.words.signs import without_sign

_UNITS = {
    "mm": "mm", "cm": "cm", "m": "m", "metres": "m", "meters": "m", "in": "in", "inch": "in", "inches": "in",
    "ins": "in", "ft": "ft", "ft-in": "in", "ft in": "in", "ft/in": "in", "ft & in": "in", "ft + in": "in",
    "ft and in": "in", "feet & inches": "in",
    "feet": "ft", "millimetres": "mm", "millimeters": "mm", "centimetres": "cm", "centimeters": "cm",
    "kg": "kg", "n": "N", "kgf": "kgf", "°c": "°C", "degc": "°C", "deg c": "°C", "c": "°C", "°f": "°F",
    "f": "°F", "degf": "°F", "deg f": "°F", "fahrenheit": "°F", "celsius": "°C", "lb": "lb", "lbs": "lb",
    "pounds": "lb", "lbf": "lbf", "%": "%",
    "deg": "deg", "mm/m": "mm/m", "turns": "quarter_turn", "quarter turns": "quarter_turn", "1/4 turns": "quarter_turn",
    "hrs": "h", "hours": "h", "h": "h", "min": "min", "mins": "min", "minutes": "min",
}  # fmt: skip
# Only these are units where no bracket says so: "N" or "C" at the end may be a name or the centre.
_BARE_UNITS = (
    "mm", "cm", "inches", "inch", "feet", "ft", "metres", "meters", "millimetres", "millimeters", "centimetres",
    "centimeters", "kg", "lbs", "lb",
)  # fmt: skip
# Of these, words for lengths that are nothing else wherever they stand in what was read.
_WHOLE_UNITS = frozenset(_BARE_UNITS) - {"mm", "kg", "lbs", "lb"}
# Two marks quote a word.
_A_PAIR = 2
# Over columns of several kinds: Leaves (mm, N). Each has the unit that is usual for it.
_ONE_OF_THEM = r"(?:mm|cm|m|in|n|kg|lbf?|°?\s?[cf])"
_SEVERAL_UNITS = re.compile(
    rf"[(\[]\s*{_ONE_OF_THEM}(?:\s*(?:,|/|&|\+|\band\b|\bor\b)\s*{_ONE_OF_THEM})+\s*[)\]]", re.IGNORECASE
)
_KINDS = {
    **dict.fromkeys(("mm", "cm", "m", "in"), "length"), **dict.fromkeys(("n", "lbf"), "force"),
    **dict.fromkeys(("kg", "lb"), "mass"), **dict.fromkeys(("c", "f"), "warmth"),
}  # fmt: skip
_IN_BRACKETS = re.compile(r"[(\[]\s*(?:in\s+)?([^()\[\]]{1,14}?)\s*[)\]]")
# Where distances are counted from is no place of its own: fixings (mm from bottom).
_FROM_AN_END = re.compile(
    r"[(\[]\s*(mm|cm|m)\s+(?:up\s+|in\s+)?from\s+(?:the\s+)?(?:left|bottom|lower end|left end)\s*[)\]]"
)
# Neither is what heights are over: sill (mm above lowest point).
_OVER_A_DATUM = re.compile(r"[(\[]\s*(mm|cm)\s+(?:above|over)\s+[a-z .-]+[)\]]")
# The foot of a jamb, from which its fixings are counted: Jamb fixings, mm from sill.
_FROM_THE_FOOT = re.compile(
    r"(?<=fix)(\w*\b.*?)[,;(\[]?\s*\b(mm|cm|m)\s+(?:up\s+|in\s+)?from\s+(?:the\s+)?(?:left|bottom|sill|cill|foot)\b\s*[)\]]?"
)
# Behind a length a bare m is its unit; behind another word it may be the middle.
_METRES = re.compile(r"\b(?:width|height|wide|high|length|breadth)\s+(m)\s*$")
# A share that is read, not one of a length along which is read: fall %.
_PARTS = re.compile(r"(?<!\d)\s(%)\s*$")
# The unit of a force wherever it stands beside one: Panel 1 pull lbf, Push lb leaf 2.
_OF_FORCE, _IS_FORCE = (
    re.compile(r"\b(lbs?[ -]?f(?:orce)?|kgs?[ -]?f(?:orce)?|pounds?(?:[ -]force)?|newtons?|lbs?|kgs?)\b\.?"),
    re.compile(r"\b(?:force|pull|push|effort|drag|load)\b"),
)
# Letters that are a unit of temperature only, and else the centre or what failed: Sill (C).
_LETTERS, _IS_TEMPERATURE = ("c", "f"), re.compile(r"\b(?:temp|temps|temperature|ambient|air|weather)\b")
# Behind a temperature a bare letter is its unit.
_DEGREES = re.compile(r"\btemp(?:erature)?s?\b.*?[\s,_-](?:deg(?:rees)?\.?\s*)?(f|c|°f|°c|fahrenheit|celsius)\s*$")
_AT_END = re.compile(rf"(?<!\d)[\s,_±-](?:in\s+)?({'|'.join(_BARE_UNITS)})\s*$")
# The mark of inches there or over other headings, none where it ends what is quoted: Sill level right ".
_INCH_MARK = re.compile(r"(?<=[^\W\d_])\.?\s*(?:[(\[]\s*(?:[\"”″]|'')\s*[)\]]|[\"”″]|'')\s*(?:$|(?= / ))")
_QUOTED = re.compile(r"[\"“”″]")
# What may be inches there or before all else, or the word: sill_level_right_in, in_sill_level_right; in / out, in_plane
# and in_line are none.
_MAY_BE_INCHES = re.compile(r"[\s_,]ins?\.?\s*(?:$|(?= / (?!out)))|^in_(?!(?:and_|or_)?out|plane|line)")
# Of two units that a heading leaves open, a cell has the one it names: mm or inches, (cm / in).
_IS_OPEN = re.compile(
    r"\b(?:mm|cm)\s*(?:/|&|\bor\b|\band\b)\s*in(?:s|ch|ches)?\b|\bin(?:s|ch|ches)?\s*(?:/|&|\bor\b|\band\b)\s*(?:mm|cm)\b"
)
# Units at the end of a title over several columns: Seal squash - in / Leaf 1, Size, m / wide, Sizes mm / W; but
# in / out are two ways. Where nothing sets it off, a bare m may be the middle of anything but a size.
_OF_A_TITLE = re.compile(
    r"(?:\s*[-\u2013,:;]\s*(?:all\s+)?(?:in\s+)?(mm|cm|m|met(?:re|er)s|in|inch(?:es)?|ft|kg|lbs?)\.?"
    r"|\s+(?:in\s+)?(mm|cm|inches|met(?:re|er)s|kg|lbs?)"
    r"|(?<=\bsize)\s+(m)|(?<=\bsizes)\s+(m)|(?<=\bdimensions)\s+(m))\s*(?= / (?!out\b))"
)
# dateFitted, HoursOnSite, WidthMM, SillL
_TWO_WORDS = re.compile(r"(?<=[a-z])(?=[A-Z][a-z])|(?<=[a-z]{2})(?=[A-Z](?![A-Za-z]))|(?<=[a-z])(?=[A-Z]{2,}(?![a-z]))")
# Distances along a member with the unit beside them: 1.5m, 90 cm, 36 in. Smaller numbers may count leaves, but for
# those with a mark of inches or the whole word: 12".
_AT_DISTANCE = re.compile(
    r"""(?<![\w.,])(?<!\d/)(?:(\d+(?:\.\d+)?)m|(\d+\.\d+|\d+(?=\s+m\s+up\b))\s+m|([2-9]\d|\d{3,})\s*cm"""
    r"""|([2-9]\d|\d{3,}|(?:(?<=@)|(?<=@ )|(?<=\bat ))\d+)\s*in|(\d+(?:\.\d+)?)\s*(?:["”″]|''|inch(?:es)?))(?!\w)"""
)
_PER_DISTANCE = (1000.0, 1000.0, 10.0, 25.4, 25.4)
# The same in feet, and in inches with a fraction: 6', 6'-6", 6 ft 6 in, 12 1/2".
_IN_FEET = re.compile(
    r"""(?<![\w.,])(?<!\d/)(\d+)\s*(?:['’](?!')|ft\b|feet\b)(?:\s*-?\s*(\d+(?:\.\d+)?)\s*(?:["”″]|''|in(?:s|ch|ches)?\b))?(?!\w)"""
)
_WITH_FRACTION = re.compile(
    r"""(?<![\w.,])(?<!\d/)(?:(\d+)[ -])?(\d+)/(2|4|8|16)\s*(?:["”″]|''|in(?:ch(?:es)?)?\b)(?!\w)"""
)
# Shares of a member's length: 25 %.
_PERCENT = re.compile(r"(?<![\w.,])(\d+(?:\.\d+)?)\s*%")
_SHARES = {"0": "started", "25": "quarter", "50": "centre", "75": "threequarter", "100": "end"}


def words_apart(heading: str) -> str:
    """A heading whose words are told apart by capitals only, with blanks between them: HoursOnSite."""
    return _TWO_WORDS.sub(" ", heading)


def _without_kinds(units: re.Match[str]) -> str:
    """Nothing in place of units of several kinds; two of one kind stay, since which is meant is open: (mm or in)."""
    kinds = [_KINDS[one] for one in re.findall(r"[a-z]+", units[0].casefold()) if one in _KINDS]
    return " " if len(set(kinds)) == len(kinds) else units[0]


def split_unit(heading: str) -> tuple[str, str | None]:
    """(the heading without its unit, the unit it names), such as ("Width", "cm") of "Width (cm)"."""
    heading = _SEVERAL_UNITS.sub(_without_kinds, without_sign(words_apart(heading))[0]).strip()
    text = heading.casefold()
    if (far := _in_mm(text)) != text:
        # the unit beside a distance is the distance's: Sill at 90 cm
        heading = text = far
    if found := _FROM_AN_END.search(text) or _OVER_A_DATUM.search(text):
        return _cut(heading, found.start(), found.end()), _UNITS[found[1]]
    if "jamb" in text and (found := _FROM_THE_FOOT.search(text)):
        return _cut(heading, found.end(1), found.end()), _UNITS[found[2]]
    for found in _IN_BRACKETS.finditer(text):
        word = found[1].strip(" .")
        if (unit := _UNITS.get(word)) and (word not in _LETTERS or _IS_TEMPERATURE.search(text)):
            return _cut(heading, found.start(), found.end()), unit
    if not _IS_OPEN.search(text) and (found := _OF_A_TITLE.search(text)):
        return _cut(heading, found.start(), found.end()), _UNITS[found[found.lastindex or 0]]
    if _IS_FORCE.search(text) and (found := _OF_FORCE.search(text)):
        return _cut(heading, found.start(), found.end()), _unit_of_force(found[1])
    if (found := _INCH_MARK.search(text)) and len(_QUOTED.findall(text)) < _A_PAIR:
        return _cut(heading, found.start(), found.end()), "in"
    ends = (_METRES, _DEGREES, _PARTS) if _IS_OPEN.search(text) else (_AT_END, _METRES, _DEGREES, _PARTS)
    bare = next((found for pattern in ends if (found := pattern.search(text))), None)
    if bare is None:
        return heading, None
    return heading[: bare.start(1)].strip(" ,_±-") + heading[bare.end(1) :].rstrip(), _UNITS[bare[1]]


def may_be_inches(heading: str) -> bool:
    """Whether a heading ends with a bare "in", its unit or a word, or leaves it open: sill level right in, mm or in."""
    return bool(_MAY_BE_INCHES.search(words_apart(heading).casefold())) or leaves_open(heading)


def as_in_inches(heading: str) -> str:
    """A heading that ends with a bare "in" as it would say that its numbers are in inches."""
    return f"{_MAY_BE_INCHES.sub(' ', words_apart(heading).casefold())} (in)"


def leaves_open(heading: str) -> bool:
    """Whether a heading names two units of length, so that only a cell says which is its own: mm or in."""
    return bool(_IS_OPEN.search(words_apart(heading).casefold()))


def unit_among(words: Iterable[str]) -> str | None:
    """The only unit of length that words of a heading name wherever it stands: cm of sill cm left, not of 5 cm."""
    pairs = pairwise(("", *words))
    units = {_UNITS[word] for before, word in pairs if word in _WHOLE_UNITS and not before[-1:].isdecimal()}
    return units.pop() if len(units) == 1 else None


def _unit_of_force(word: str) -> str:
    """N, lbf and kgf; lb and kg where nothing says that they are a force."""
    if word.startswith("newton"):
        return "N"
    mass = "kg" if word.startswith("kg") else "lb"
    return f"{mass}f" if "f" in word else mass


def _cut(heading: str, start: int, end: int) -> str:
    """A heading without what stands from one place up to another."""
    return (heading[:start] + " " + heading[end:]).strip()


def _in_mm(text: str) -> str:
    """A heading in small letters with the distances in it in mm and the shares as words."""
    text = _PERCENT.sub(lambda found: _SHARES.get(found[1], "share"), text)
    text = _IN_FEET.sub(lambda found: f"{304.8 * float(found[1]) + 25.4 * float(found[2] or 0):g}", text)
    text = _WITH_FRACTION.sub(_whole_mm, text)
    return _AT_DISTANCE.sub(_mm, text)


def _whole_mm(found: re.Match[str]) -> str:
    """Whole inches and a fraction in mm; a fraction alone is no distance along a member, and stays as it is."""
    return f"{25.4 * (int(found[1]) + int(found[2]) / int(found[3])):g}" if found[1] else found[0]


def _mm(found: re.Match[str]) -> str:
    number, factor = next((float(text), per) for text, per in zip(found.groups(), _PER_DISTANCE, strict=True) if text)
    return f"{number * factor:g}"


def unit_named(text: str) -> str | None:
    """The unit that a cell names, such as mm; None where it names none."""
    return _UNITS.get(text.casefold().strip(" ."))
