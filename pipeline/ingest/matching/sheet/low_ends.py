"""A level told by the end that is low: 3 L is left 3 low, and the other end is the line it is measured from.

How people write so is common practice, no source.
"""

import re

from pipeline.ingest.texts.numbers import digits_of, read_number

ENDS = ("left", "right")
_WRITTEN = {
    "l": "left", "lh": "left", "lhs": "left", "left": "left", "r": "right", "rh": "right", "rhs": "right",
    "right": "right",
}  # fmt: skip
# What a cell says further that tells neither end nor unit: 3 mm low on left side.
_BESIDE = re.compile(r"\b(?:low|lower|down|side|end|hand|at|on|to|the)\b|[()]", re.IGNORECASE)
_END_FIRST = re.compile(r"\s*([A-Za-z]+)[\s:=]*(\d.*)", re.DOTALL)
# Added to a number that says no end, so that it is set aside and not taken for both.
_WHICH = "which end"


def low_end(text: str) -> str | None:
    """The end that a cell names as low; None where it names none, or a number that is not below.

    >>> low_end("3 L"), low_end("2mm RH"), low_end("left 4 low"), low_end("3"), low_end("+3 L")
    ('left', 'right', 'left', None, None)
    """
    return _read(text)[1]


def height_at(text: str, end: str) -> str:
    """What a cell says of the height at one end: the number below where that end is low, else 0; other texts whole.

    >>> height_at("3 L", "left"), height_at("3 L", "right"), height_at("1.5mm R", "right"), height_at("ok", "left")
    ('-3', '0', '-1.5 mm', 'ok')
    """
    value, low, unit = _read(text)
    if value is None:
        return text
    if value == 0:
        return f"0{unit}"
    if low is None:
        return f"{text} {_WHICH}"
    return f"-{digits_of(_plain(text))}{unit}" if low == end else f"0{unit}"


def _read(text: str) -> tuple[float | None, str | None, str]:
    """(the number, the end that is low, the unit behind a blank) of a cell; no number where it holds none."""
    number, _ = read_number(_plain(text))
    if number is None:
        return None, None, ""
    words = f"{number.unit or ''} {number.side or ''}".split()
    ends = {_WRITTEN[word] for one in words if (word := one.casefold()) in _WRITTEN}
    unit = " ".join(["", *(one for one in words if one.casefold() not in _WRITTEN)])
    is_below = not text.lstrip().startswith("+")
    return number.value, ends.pop() if len(ends) == 1 and is_below else None, unit


def _plain(text: str) -> str:
    """A cell without words that add nothing, its end behind its number."""
    plain = " ".join(_BESIDE.sub(" ", text).split()) if re.search(r"[A-Za-z]{3}", text) else text
    first = _END_FIRST.fullmatch(plain)
    return f"{first[2]} {first[1]}" if first and first[1].casefold() in _WRITTEN else plain
