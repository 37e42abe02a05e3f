"""Numbers as people write them: 3.5, 3,5, 1,234.5, 1.234,5, 1/8, 1 1/8", 3mm, 3 L.

Reads one text by itself. Where a comma or point can be both a decimal mark and a separator of thousands, the column
that the text stands in decides (see marks); what remains doubtful is never read.
"""

import math
import re
import unicodedata
from dataclasses import dataclass, replace

from pipeline.ingest.texts.marks import COMMA, POINT, Mark, doubtful_mark
from pipeline.ingest.texts.not_said import says_nothing

NOT_A_NUMBER = "this is not a number; write it in digits, such as 3.5"

# An underscore between digits is how programs write long numbers; it leaves no doubt.
_DIGITS = r"\d+(?:_\d+)*"
_PROGRAM = re.compile(rf"(?:{_DIGITS}\.?(?:{_DIGITS})?|\.{_DIGITS})(?:[eE][+-]?{_DIGITS})?", re.ASCII)
# ISO 80000-1, 7.3.1: groups of three digits are set apart by a small space, the decimal sign is a point or a comma.
_SPACES = "\u00a0\u2009\u202f"
_SPACED = re.compile(rf"\d{{1,3}}(?:[{_SPACES}]\d{{3}})+(?:[.,]\d+)?", re.ASCII)
# A plain blank may as well stand between two numbers; so few digits before it are thousands.
_BLANKED = r"[1-9]\d?(?: \d{3})+(?:[.,]\d+)?"
_THOUSANDS = re.compile(_BLANKED, re.ASCII)
_MARKED = re.compile(r"\d*[.,][\d.,]*\d", re.ASCII)
_FRACTION = re.compile(r"(?:(\d+)[ -])?(\d+)\s*/\s*(\d+)", re.ASCII)
_FEET = re.compile(
    r"([+-]?)(\d+)\s*(?:'|ft\.?|feet|foot)[ -]*([\d.¼-¾⅐-⅞][\d./ ¼-¾⅐-⅞-]*?)\s*(?:\"|''|in\.?|ins|inch|inches)?",
    re.ASCII | re.IGNORECASE,
)
_NUMBER = (
    rf"[+-]?(?:\d+[ -]\d+\s*/\s*\d+|{_BLANKED}(?![\d/])|\d+\s*/\s*\d+|"
    rf"[\d.,][\d.,_{_SPACES}]*(?:[eE][+-]?\d+)?|\d*\s?[¼-¾⅐-⅞])"
)
_WORD = r"[A-Za-z°]+\.?(?:[ /_][A-Za-z]+){0,2}"
_INCHES = r"\"|''"
_FOOT = r"'(?!')"
# Spreadsheets bend the marks of feet and inches as if they were quotes.
_STRAIGHT = str.maketrans("\u2018\u2019\u2032\u201c\u201d\u2033", "'''\"\"\"")
_UNIT_AFTER = re.compile(rf"({_NUMBER})\s*((?:{_INCHES})\s*{_WORD}|{_WORD}|{_INCHES}|{_FOOT}|%)", re.ASCII)
# A sign apart from its number, the ending of a fraction, brackets round a last word say nothing: + 2, 1/16th, 3 (low).
_APART = re.compile(r"([+-])[ \u00a0](?=[\d.,¼-¾⅐-⅞])")
_ENDING = re.compile(r"(?<=\d)(?:ths?|nds?)\b", re.IGNORECASE)
_BRACKETS = re.compile(r"[ \u00a0]*\(([A-Za-z ]+)\)", re.ASCII)
_SIDE_BEFORE = re.compile(r"([A-Za-z]+)\.?\s*([+-]?[\d.,¼-¾⅐-⅞].*)", re.ASCII | re.DOTALL)
_FRACTIONS = (2, 4, 8, 16, 32, 64)
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}|\d{1,2}[-/][A-Za-z]{3}|[A-Za-z]{3}[-/]\d{1,2}", re.ASCII)
# How a reading is written that was looked at and found within what was allowed: between limits, never zero.
WITHIN_RULE = "within what was allowed, the number not told"
_WITHIN = frozenset({
    "ok", "okay", "o.k.", "fine", "good", "pass", "passed", "yes", "y", "tick", "✓", "✔", "☑", "✅", "level", "plumb",
    "square", "straight", "within", "in tolerance", "within tolerance", "within limits", "in limits", "within spec",
    "in spec", "dead level", "dead plumb", "spot on", "bang on", "all ok", "all good", "level ok", "plumb ok",
    "acceptable", "satisfactory", "a ok", "no issues", "no issue", "within tol", "in tol",
})  # fmt: skip
# What is no number of its own: where to look, a range, and how much it is about or at most.
_ELSEWHERE = re.compile(r"ditto|do\.?|[\"']+|as above|same(?: as above)?|(?:see|as) .+")
_RANGE = re.compile(r"[+-]?[\d.,]+\s*[a-z\"]*\s*(?:-|–|to|or|/|&|and|→|>|->)\s*[+-]?[\d.,]+\s*[a-z\"]*")
_HEDGES = ("ca", "circa", "approx", "approximately", "about", "abt", "around", "max", "min")
_ABOUT = re.compile(
    rf"(?:[~≈<>≤≥±]|\+/-|(?:c|{'|'.join(_HEDGES)})\b\.?).*\d.*"
    r"|.*\d.*(?:\?|\+|ish|or so|approx\.?)"
)
_NOT_TAKEN = frozenset({"not taken", "not measured"})


@dataclass(frozen=True)
class Number:
    """A number read. unit: as written in the cell. side: another word beside it, such as the L of `L 3`.

    rule              how it was read, where the text is not a plain number
    is_fraction  written as one, such as 1/8, and without decimals
    """

    value: float
    rule: str | None = None
    unit: str | None = None
    side: str | None = None
    is_fraction: bool = False


def read_number(text: str, mark: Mark = POINT) -> tuple[Number | None, str | None]:
    """(the number with what is written beside it, None), or (None, what is wrong and what to do).

    mark  what a comma or point means in the text's column where the text alone does not say it
    """
    written = _tidied(text)
    number, problem = _alone(written, mark)
    if number or problem:
        return number, problem
    number, problem = _with_words(written, mark)
    return number, problem if number or problem else _why_not(text)


def _tidied(text: str) -> str:
    """A text without what adds nothing to its number: a blank behind the sign, brackets round its last word."""
    text = straight_marks(text)
    written = _APART.sub(r"\1", text.replace("\u2212", "-"), count=1) if text[:1] in "+-\u2212" else text
    if "/" in written:
        written = _ENDING.sub("", written)
    return _BRACKETS.sub(r" \1", written, count=1) if written.endswith(")") else written


def straight_marks(text: str) -> str:
    """A text with bent marks of feet and inches made straight: 7’ 6” is 7' 6"."""
    return text if text.isascii() else text.translate(_STRAIGHT)


def says_within(text: str) -> bool:
    """Whether a text says that a reading was within what was allowed, and not what it was: ok, a tick, level."""
    return " ".join(text.casefold().split()) in _WITHIN


def judge_number(text: str, mark: Mark = POINT) -> tuple[float | None, str | None]:
    """(number, None), or (None, what is wrong and what to do) for a text that is not a finite number alone."""
    number, problem = read_number(text, mark)
    if number and (number.unit or number.side):
        return None, f"write the number alone ({number.value:.10g}), without '{number.unit or number.side}'"
    return (number.value, None) if number else (None, problem)


def judge_whole(text: str, mark: Mark = POINT) -> tuple[int | None, str | None]:
    """(whole number, None), or (None, what is wrong and what to do)."""
    number, problem = judge_number(text, mark)
    if number is None:
        return None, problem
    if number != int(number):
        return None, "this must be a whole number; correct it"
    return int(number), None


def digits_of(text: str) -> str:
    """The digits and marks of a number without its sign, unit and side; empty where the text holds no such number."""
    written = _tidied(text)
    before = _SIDE_BEFORE.fullmatch(written)
    rest = before[2] if before else written
    after = _UNIT_AFTER.fullmatch(rest)
    return (after[1] if after else rest).lstrip("+-")


def bounds_problem(
    number: float, low: float | None, high: float | None, unit: str = "", remedy: str = "correct it"
) -> str | None:
    """What is wrong with a number outside its plausible bounds, and what to do; None inside."""
    if (low is None or number >= low) and (high is None or number <= high):
        return None
    if low is not None and low >= 0 and number < 0:
        return "this cannot be negative; correct it"
    shown = [f"{bound:,.10g}" for bound in (low, high) if bound is not None]
    span = " to ".join(shown)
    if len(shown) == 1:
        span += " or less" if low is None else " or more"
    return f"this is not plausible; expected {span}{' ' + unit if unit else ''}; {remedy}"


def _alone(text: str, mark: Mark) -> tuple[Number | None, str | None]:
    """A text that is a number from end to end; (None, None) where it is none."""
    body = text[1:] if text[:1] in ("+", "-") else text
    sign = -1.0 if text[:1] == "-" else 1.0
    fraction = _fraction(body)
    if fraction:
        return replace(fraction, value=sign * fraction.value), None
    if doubtful_mark(body) and mark.decimal is None:
        return None, mark.problem(body)
    value, rule = _valued(body, mark)
    if value is None:
        return None, None
    if not math.isfinite(value):
        return None, "the number is too large to be true; correct it"
    return Number(sign * value, rule), None


def _valued(body: str, mark: Mark) -> tuple[float | None, str | None]:
    """(value, rule) of unsigned digits and marks; (None, None) where it is no such number."""
    doubt = doubtful_mark(body)
    if _SPACED.fullmatch(body) or _THOUSANDS.fullmatch(body):
        return float(re.sub(f"[ {_SPACES}]", "", body).replace(",", ".")), "spaces between thousands"
    if _PROGRAM.fullmatch(body) and not (doubt and mark.decimal == COMMA):
        return float(body), None
    return _marked(body, mark.decimal if doubt else None) if _MARKED.fullmatch(body) else (None, None)


def _marked(body: str, decimal: str | None) -> tuple[float | None, str | None]:
    """The value of digits with points and commas. decimal: the mark of decimals, None where the text shows it."""
    last = body[max(body.rfind("."), body.rfind(","))]
    if decimal is None:
        decimal = _other(last) if body.count(last) > 1 else last
    whole, _, decimals = body.partition(decimal)
    thousands = _other(decimal)
    is_grouped = thousands in whole
    if thousands in decimals or (is_grouped and not re.fullmatch(rf"[1-9]\d{{0,2}}(?:\{thousands}\d{{3}})+", whole)):
        return None, None
    value = float(f"{whole.replace(thousands, '') or '0'}.{decimals or '0'}")
    names = {".": "point", ",": "comma"}
    rules = [f"decimal {names[decimal]}"] if decimal in body else []
    return value, ", ".join([*rules, *([f"{names[thousands]} between thousands"] if is_grouped else [])])


def _other(mark: str) -> str:
    return "," if mark == "." else "."


def _fraction(body: str) -> Number | None:
    found = _FRACTION.fullmatch(body)
    if found:
        whole, above, below = int(found[1] or 0), int(found[2]), int(found[3])
        # 31/8 is 3 1/8 with its blank lost, 12/25 a day: only what stands on a tape is read
        is_of_tape = below in _FRACTIONS and 0 < above < below
        return Number(whole + above / below, "fraction", None, None, True) if is_of_tape else None
    if not body or not unicodedata.decomposition(body[-1]).startswith("<fraction>"):
        return None
    whole_text, part = body[:-1].strip(), unicodedata.numeric(body[-1])
    if whole_text and not (whole_text.isascii() and whole_text.isdigit()):
        return None
    return Number(int(whole_text or 0) + part, "fraction", None, None, True) if part * 8 == int(part * 8) else None


def _with_words(text: str, mark: Mark) -> tuple[Number | None, str | None]:
    """A number with a unit or side behind it, or a side before it; (None, None) where it is none."""
    feet = _FEET.fullmatch(text)
    if feet:
        inches, problem = _alone(feet[3], mark)
        is_foot = inches is not None and 0 <= inches.value < 12
        if inches is None or not is_foot:
            return None, problem
        total = (int(feet[2]) * 12 + inches.value) * (-1 if feet[1] == "-" else 1)
        return Number(total, "feet and inches", "in"), None
    before = _SIDE_BEFORE.fullmatch(text)
    rest = before[2] if before else text
    after = _UNIT_AFTER.fullmatch(rest)
    if not (after or before) or (before and before[1].casefold() in _HEDGES):
        return None, None
    number, problem = _alone(after[1] if after else rest, mark)
    if number is None:
        return None, problem
    unit = _unit_of(after[2]) if after else None
    return replace(number, unit=unit, side=before[1] if before else None), None


def _unit_of(written: str) -> str:
    """A unit as units.toml writes it, with the words behind it."""
    unit = written.removesuffix(".").replace("''", '"')
    return "ft" if unit == "'" else unit


def _why_not(text: str) -> str:
    word = " ".join(text.casefold().split())
    if word in _NOT_TAKEN or says_nothing(word):
        instead = "write the reading, or empty the cell if none was taken (in a list, delete its row)"
        return f"'{text}' is not a number; {instead}"
    if any(unicodedata.category(mark) == "Sc" for mark in text):
        return "a currency stands beside the number; write the amount alone, in digits"
    if _ELSEWHERE.fullmatch(word):
        return f"'{text}' points to another place; write the number that stands there"
    if _RANGE.fullmatch(word):
        return "these are two numbers, or a range of them; write the one that holds, in digits"
    if _ABOUT.fullmatch(word):
        return "this says about how much it is, or how much at most; write the number alone, in digits"
    if _DAY.fullmatch(text):
        return "this is a date, which a spreadsheet makes of a fraction such as 1/8; write the reading in decimals"
    return NOT_A_NUMBER
