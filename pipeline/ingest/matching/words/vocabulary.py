"""The words of headings: cut, folded to one spelling each, their unit taken out; and the lists of the vocabulary."""

import re
import tomllib
from collections import defaultdict
from collections.abc import Iterable
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.texts.money import CURRENCY_WORDS

# The same without a unit, and heights that are counted up from it: fixing, up from the sill; at 300 mm up.
_UP_A_JAMB = re.compile(
    r"\b(?:measured\s+)?up(?:wards)?\s+from\s+(?:the\s+)?(?:sill|cill|bottom|foot|threshold)\b"
    r"|\bfrom\s+(?:the\s+)?(?:sill|cill|bottom|foot|threshold)\s+up(?:wards)?\b"
    r"|(?<=\d\d)\s*(?:mm\s*)?\bup(?:wards)?\b(?:\s+from\s+(?:the\s+)?(?:sill|cill|bottom|foot|threshold)\b)?"
)
_OF_A_JAMB = re.compile(r"\b(?:jambs?|uprights?|fix\w*|plumb)\b")
# Headings that are a sign alone.
_SIGNS = {"£": "cost", "$": "cost", "€": "cost", "✓": "tick", "✔": "tick"}
_PLUS_MINUS = re.compile(r"\s*(?:\+/?-|±)\s*\(?(?:mm|cm|in|deg|°)?\)?\s*", re.IGNORECASE)
# Half-way, where a heading ends with it: Threshold level / 1/2.
_HALF = re.compile(r"(?:\b1/2|½)\s*$")
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
    (re.compile(r"\bi/o\b|\bin (?:or|and) out\b"), "in out"),
    (re.compile(r"\bs/s\b"), "side side"),
    (re.compile(r"\bf/b\b"), "front back"),
    (re.compile(r"\bw\s*[x×*/]\s*h(?:t|gt|eight)?\b"), "width height"),
    (re.compile(r"\bh(?:t|gt|eight)?\s*[x×*/]\s*w(?:idth)?\b"), "height width"),
    (re.compile(r"\blh?j(?=\d*\b)"), "left jamb "),
    (re.compile(r"\brh?j(?=\d*\b)"), "right jamb "),
    # what heights are over, which is no place of its own
    (re.compile(r"\b(?:above|over)\s+(?:the\s+|its\s+)?low(?:est)?\s+(?:spot|point|end|place|part|corner)\b"), " "),
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


@lru_cache(maxsize=50_000)
def words_of(heading: str) -> tuple[str, ...]:
    """The words of a heading in one spelling each, without its unit and without words that add nothing."""
    if _PLUS_MINUS.fullmatch(heading):
        return ("tolerance",)
    if heading.strip() in _SIGNS:
        return (_SIGNS[heading.strip()],)
    if heading.strip(" .()[]").casefold() in CURRENCY_WORDS:
        return ("cost",)
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
                dict.fromkeys(
                    words_of(way)
                    for way in (
                        *written,
                        *_ways_only(record, column),
                        *shared.get(column, ()),
                        column.replace("_", " "),
                    )
                )
            )
            for column, written in columns.items()
        }
        for record, columns in lists.items()
    }


def _ways_only(record: str, column: str) -> list[str]:
    """Ways to write a column where doors are listed, which mean something else in other sheets."""
    ways: list[str] = _read()["of_doors_only"].get(column, []) if record == "installs" else []
    return ways


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
