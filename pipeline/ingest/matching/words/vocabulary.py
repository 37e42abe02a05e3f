"""The words of headings: cut, folded to one spelling each, their unit taken out; and the lists of the vocabulary."""

import re
import tomllib
from collections import defaultdict
from collections.abc import Iterable
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from pipeline.ingest.matching.words.signs import without_sign

_UNITS = {
    "mm": "mm", "cm": "cm", "m": "m", "metres": "m", "meters": "m", "in": "in", "inch": "in", "inches": "in",
    "ins": "in", "ft": "ft", "ft-in": "in", "ft in": "in", "ft/in": "in", "ft & in": "in", "ft + in": "in",
    "ft and in": "in", "feet & inches": "in",
    "kg": "kg", "n": "N", "kgf": "kgf", "°c": "°C", "degc": "°C", "deg c": "°C", "c": "°C", "°f": "°F",
    "f": "°F", "degf": "°F", "deg f": "°F", "fahrenheit": "°F", "celsius": "°C", "lb": "lb", "lbs": "lb",
    "pounds": "lb", "lbf": "lbf", "%": "%",
    "deg": "deg", "mm/m": "mm/m", "turns": "quarter_turn", "quarter turns": "quarter_turn", "1/4 turns": "quarter_turn",
    "hrs": "h", "hours": "h", "h": "h", "min": "min", "mins": "min", "minutes": "min",
}  # fmt: skip
# Only these are units where no bracket says so: "N" or "C" at the end may be a name or the centre.
_BARE_UNITS = ("mm", "cm", "inches", "kg", "lbs", "lb")
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
# The same without a unit, and heights that are counted up from it: fixing, up from the sill; at 300 mm up.
_UP_A_JAMB = re.compile(
    r"\b(?:measured\s+)?up(?:wards)?\s+from\s+(?:the\s+)?(?:sill|cill|bottom|foot|threshold)\b"
    r"|\bfrom\s+(?:the\s+)?(?:sill|cill|bottom|foot|threshold)\s+up(?:wards)?\b"
    r"|(?<=\d\d)\s*(?:mm\s*)?\bup(?:wards)?\b(?:\s+from\s+(?:the\s+)?(?:sill|cill|bottom|foot|threshold)\b)?"
)
_OF_A_JAMB = re.compile(r"\b(?:jambs?|uprights?|fix\w*|plumb)\b")
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
_AT_END = re.compile(rf"[\s,_±-](?:in\s+)?({'|'.join(_BARE_UNITS)})\s*$")
# Units at the end of a title over several columns: Seal squash - in / Leaf 1, Size, m / wide, Sizes mm / W; but
# in / out are two ways. Where nothing sets it off, a bare m may be the middle of anything but a size.
_OF_A_TITLE = re.compile(
    r"(?:\s*[-\u2013,:;]\s*(?:all\s+)?(?:in\s+)?(mm|cm|m|met(?:re|er)s|in|inch(?:es)?|ft|kg|lbs?)\.?"
    r"|\s+(?:in\s+)?(mm|cm|inches|met(?:re|er)s|kg|lbs?)"
    r"|(?<=\bsize)\s+(m)|(?<=\bsizes)\s+(m)|(?<=\bdimensions)\s+(m))\s*(?= / (?!out\b))"
)
# Headings that are a sign alone.
_SIGNS = {"£": "cost", "$": "cost", "€": "cost", "✓": "tick", "✔": "tick"}
_PLUS_MINUS = re.compile(r"\s*(?:\+/?-|±)\s*\(?(?:mm|cm|in|deg|°)?\)?\s*", re.IGNORECASE)
# dateFitted, HoursOnSite, WidthMM, SillL
_TWO_WORDS = re.compile(r"(?<=[a-z])(?=[A-Z][a-z])|(?<=[a-z]{2})(?=[A-Z](?![A-Za-z]))|(?<=[a-z])(?=[A-Z]{2,}(?![a-z]))")
# Half-way, where a heading ends with it: Threshold level / 1/2.
_HALF = re.compile(r"(?:\b1/2|½)\s*$")
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
# The sign for number; before digits it is not needed: leaf #2.
_NUMBER_SIGN = re.compile(r"#(?!\s*\d)")
# The number that a line of a form or a column begins with: 4. Sill level.
# But 1. leaf is the first leaf, and A. Diagonal the one from A.
_NUMBERED = re.compile(
    r"(?:^|(?<= / ))\s*(?:\d{1,2}[.)]|[A-H][.)])\s+"
    r"(?!diag|leaf|lf|panel|sash|door|wing|flap|fix|pack|hinge|station)(?=[^\W\d_]{3})",
    re.IGNORECASE,
)
# Short for something where they stand alone, not within other words: drains/outlets.
_ALONE = (
    # tight, and no more than tight: fixings tight not pulled
    (
        re.compile(r"\b(tight|snug|firm)\W+(?:and |but )?not pull(?:ed|ing)\b(?: in\b)?(?! up| tight)"),
        r"\1 not over tightened",
    ),
    # what is clear between head and sill; its width is the passage with the leaves folded away
    (
        re.compile(r"\bclear (?:opening|aperture)\W+(?:height|ht|hgt|h)\b|\bclear height of (?:the )?opening\b"),
        "clear height",
    ),
    (re.compile(r"\b(?:[rms]o\b|op\b\.?)(?=\s*(?:w|h|width|height|wide|high|ht|diag))|\bs/o\b"), "aperture"),
    (re.compile(r"\bw/o\b"), "works order"),
    (re.compile(r"\bi/o\b"), "in out"),
    (re.compile(r"\bs/s\b"), "side side"),
    (re.compile(r"\bf/b\b"), "front back"),
    (re.compile(r"\bw\s*[x×*/]\s*h(?:t|gt|eight)?\b"), "width height"),
    (re.compile(r"\bh(?:t|gt|eight)?\s*[x×*/]\s*w(?:idth)?\b"), "height width"),
    (re.compile(r"\blh?j(?=\d*\b)"), "left jamb "),
    (re.compile(r"\brh?j(?=\d*\b)"), "right jamb "),
    # whose it is, which without its last word would be what it came to
    (re.compile(r"\b(?:costs?|charged?) to\s*$|\bfault of\s*$"), "chargeable party"),
    # the end that every distance is counted from, whichever member it is along
    (re.compile(r"\bfrom (?:the )?(?:bottom\s*(?:/|or)\s*(?:the )?left|left\s*(?:/|or)\s*(?:the )?bottom)\b"), ""),
    # what is numbered: fixing no. 2, door no 1
    (re.compile(r"\b(?:no|nr|num|number)\b\.?\s*(?=\d)"), ""),
)
# A stroke at the end draws the diagonal: Diag /, Diag \.
_STROKES = (
    (re.compile(r"(?<=\s)/\s*$"), "rising"),
    (re.compile(r"\s*\\\s*$"), " falling"),
    (re.compile(r"[↗↙]"), " rising "),
    (re.compile(r"[↘↖]"), " falling "),
)
_WORD = re.compile(r"[^\W\d_]+|\d+(?:\.\d+)?")
_JOINED = (
    ("&", " and "), ("hand-over", "handover"), ("handed over", "handover"), ("hand over", "handover"),
    ("hinge side", "hinge"), ("hanging side", "hinge"), ("hung side", "hinge"), ("lock side", "lock"),
    ("closing side", "lock"), ("handle side", "lock"), ("latch side", "lock"), ("strike side", "lock"),
    ("keep side", "lock"), ("shut side", "lock"), ("shutting side", "lock"), ("opening side", "lock"),
    ("left side", "left"), ("right side", "right"), ("rec'd", "received"), ("left hand", "left"),
    ("right hand", "right"), ("h/over", "handover"), ("1/4", "quarter"), ("¼", "quarter"), ("3/4", "threequarter"),
    ("¾", "threequarter"), ("three quarter", "threequarter"), ("mat'l", "material"), ("o/all", "overall"),
    ("l/h", "left"), ("r/h", "right"), ("l.h.", "left "), ("r.h.", "right "), ("colour in", "colour inside"),
    ("color in", "color inside"), ("half way", "centre"), ("mid point", "centre"), ("mid-point", "centre"),
    ("mid span", "centre"), ("mid-span", "centre"), ("c/l", "centre"), ("outer frame", "frame"), ("o/frame", "frame"),
    ("o/f ", "frame "), ("sub-sill", "sill"), ("sub-cill", "sill"), ("sub cill", "sill"), ("sub sill", "sill"),
    ("nº", "no"), ("n°", "no"), ("№", "no"), ("out of plumb", "plumb"), ("out-of-plumb", "plumb"),
    ("out of level", "level"), ("out-of-level", "level"), ("track to track", "clear height"),
    ("track to head", "clear height"), ("head to track", "clear height"),
    ("top track", "head track"), ("door leaf", "leaf"), ("r.o.", "aperture"), ("m.o.", "aperture"),
    ("rough opening", "aperture"),
    ("clear opening", "passage"), ("clear aperture", "passage"), ("structural opening", "aperture"),
    ("brick opening", "aperture"),
    ("x-corner", "cross corner"), ("x-meas", "cross meas"), ("hanging stile", "hinge"), ("hinge stile", "hinge"),
    ("lock stile", "lock"), ("closing stile", "lock"), ("handle stile", "lock"), ("in plan", "plan"),
    ("walk-thr", "walkthr"), ("walk thr", "walkthr"), ("t+h", "toe heel"), ("gap to wall", "wall gap"),
    ("in line with", "along"), ("n.ok", "not ok"), ("bi-fold", "bifold"), ("call-back", "callback"),
    ("call back", "callback"), ("called back", "callback"), ("call-out", "callback"), ("'", ""), ("’", ""),
)  # fmt: skip


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
    if found := _OF_A_TITLE.search(text):
        return _cut(heading, found.start(), found.end()), _UNITS[found[found.lastindex or 0]]
    if _IS_FORCE.search(text) and (found := _OF_FORCE.search(text)):
        return _cut(heading, found.start(), found.end()), _unit_of_force(found[1])
    bare = _AT_END.search(text) or _METRES.search(text) or _DEGREES.search(text) or _PARTS.search(text)
    return (heading[: bare.start(1)].strip(" ,_±-"), _UNITS[bare[1]]) if bare else (heading, None)


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


@lru_cache(maxsize=50_000)
def words_of(heading: str) -> tuple[str, ...]:
    """The words of a heading in one spelling each, without its unit and without words that add nothing."""
    if _PLUS_MINUS.fullmatch(heading):
        return ("tolerance",)
    if heading.strip() in _SIGNS:
        return (_SIGNS[heading.strip()],)
    heading = _NUMBER_SIGN.sub(" no ", _NUMBERED.sub("", heading))
    for stroke, drawn in _STROKES:
        heading = stroke.sub(drawn, heading)
    # a code's words are words: HINGE_SIDE
    text = split_unit(heading)[0].casefold().replace("_", " ")
    text = _HALF.sub("centre", text)
    for short, meant in _ALONE:
        text = short.sub(meant, text)
    if _OF_A_JAMB.search(text):
        text = _UP_A_JAMB.sub("", text)
    for written, meant in _JOINED:
        text = text.replace(written, meant)
    same = _same()
    words = [same.get(word, word) for word in _WORD.findall(text)]
    return tuple(word for word in words if word not in empty_words()) or tuple(words)


def words_in(texts: Iterable[str]) -> set[str]:
    """The words of several texts, see words_of."""
    return {word for text in texts for word in words_of(text)}


def unit_named(text: str) -> str | None:
    """The unit that a cell names, such as mm; None where it names none."""
    return _UNITS.get(text.casefold().strip(" ."))


@cache
def parts_of(column: str) -> tuple[tuple[tuple[str, ...], ...], ...]:
    """For each part of a column that is written in several, the ways to write its heading, as words."""
    return tuple(tuple(map(words_of, ways)) for ways in _read()["parts"][column])


@cache
def trade_words(column: str) -> dict[str, str]:
    """What the trade writes for the closed words of a column; behind a plus: a word that says it wherever it is."""
    meant = _read()["words"].get(column, {})
    return {way: word for word, ways in meant.items() for way in (word.replace("_", " "), *ways)}


def meant_by(text: str, meant: dict[str, str]) -> str | None:
    """The word that a cell is another way to write: as a whole, else the only one that its words say.

    With a question mark a cell says nothing for sure.
    """
    if "?" in text:
        return None
    whole = " ".join(re.findall(r"[^\W_]+", text.casefold()))
    # the maker is a maker; what has an article of its own in the list is found first
    if (found := meant.get(whole, meant.get(whole.removeprefix("the ")))) is not None:
        return found
    named = {meant[f"+{word}"] for word in whole.split() if f"+{word}" in meant}
    return named.pop() if len(named) == 1 else None


def one_meaning(pairs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """(code, what it means) of what explains codes, letters or marks; without those that are explained in two ways."""
    said: dict[str, set[str]] = defaultdict(set)
    for code, meaning in pairs:
        said[code].add(meaning)
    return tuple((code, meanings.pop()) for code, meanings in said.items() if len(meanings) == 1)


def outcome_of(text: str) -> str | None:
    """The outcome of a check that a text says: pass, fail or not_applicable."""
    return meant_by(text, trade_words("outcome")) if text else None


@cache
def composed(column: str) -> tuple[frozenset[str], frozenset[str], int]:
    """(words for the thing a column names, words that may go with them, how many there must be) of a column."""
    found = _read()["composed"].get(column, {})
    things, beside = (frozenset(map(_same_word, found.get(name, ()))) for name in ("things", "beside"))
    return things, beside, found.get("least", 1)


def _same_word(word: str) -> str:
    return _same().get(word, word)


@cache
def ways() -> dict[str, dict[str, tuple[tuple[str, ...], ...]]]:
    """For every record and column, the ways to write it, as words; the column's own name is one."""
    lists = _read()["columns"]
    shared = {name: ways for record in ("installs",) for name, ways in lists[record].items()}
    return {
        record: {
            column: tuple(
                dict.fromkeys(words_of(way) for way in (*written, *shared.get(column, ()), column.replace("_", " ")))
            )
            for column, written in columns.items()
        }
        for record, columns in lists.items()
    }


# Packers alone are as well those of the glass or of a hinge.
_NO_WAY = ("packer",)


@cache
def phrases(kind: str) -> tuple[tuple[str, frozenset[str], frozenset[str]], ...]:
    """(name, words, words said by them) of every way to write a measure (`measures`) or a check (`checks`).

    Words behind a plus must be there as well, and say something more.
    """
    found = [
        (name, frozenset(words_of(way.replace("+", ""))), frozenset(words_of(way.partition("+")[0])))
        for name, written in _read()[kind].items()
        for way in (*written, *(() if name in _NO_WAY else (name.replace("_", " "),)))
    ]
    return tuple(dict.fromkeys(found))


@cache
def empty_words() -> frozenset[str]:
    """Words that add nothing to a heading."""
    return frozenset(_read()["empty"]["words"])


@cache
def other_words() -> frozenset[str]:
    """Words after which a column holds no reading of the fitting."""
    return frozenset(_read()["other"]["words"])


@cache
def elsewhere() -> frozenset[str]:
    """Words of headings of what a firm keeps beside its doors and callbacks: invoices, photos, deliveries."""
    return frozenset(map(_same_word, _read()["elsewhere"]["words"])) | frozenset(_read()["elsewhere"]["words"])


@cache
def _same() -> dict[str, str]:
    return {written: meant for meant, ways in _read()["same"].items() for written in ways}


@cache
def _read() -> dict[str, Any]:
    text = files("pipeline.ingest.matching.words").joinpath("vocabulary.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
