"""Several readings in one cell: 0 / -1 / +2.

A cell has as many as its heading names; one that has another number of them is left as it is, for people to see.
"""

import re

from pipeline.ingest.texts.numbers import says_within

_MARKS = r"(?:mm|cm|m|inches|inch|in|\"|''|')"
_DECIMAL = rf"[+\-−–]?\s*(?:\d+(?:[.,]\d+)?)\s*(?:{_MARKS}\.?)?"
_FRACTION = rf"[+\-−–]?\s*(?:\d+[ -])?\d+/\d+\s*(?:{_MARKS}\.?)?"
_NUMBER, _ANY = re.compile(_DECIMAL, re.IGNORECASE), re.compile(rf"(?:{_DECIMAL}|{_FRACTION})", re.IGNORECASE)
_UNIT_AT_END = re.compile(rf"(?<=[\d\s]){_MARKS}\.?$", re.IGNORECASE)
# What stands between, with what may stand there: a stroke without blanks is none between fractions.
_LOOSE = (re.compile(r"\s*[;|]\s*"), re.compile(r"\s+/\s*|\s*/\s+"), re.compile(r",\s+"))
_STROKE, _BLANK = re.compile(r"/"), re.compile(r"\s+(?=[+\-−–]?\d)")
_FEWEST_APART_BY_BLANKS = 3
# Parts of an inch, which a stroke between two numbers may as well mean.
_OF_AN_INCH = re.compile(r"(\d+)/(2|4|8|16|32)(?!\d)")
_WORDS = re.compile(r"[^\W\d_]+\.?(?:\s[^\W\d_]+\.?)?|✓|✔|☑")


def numbers_in(text: str, n_parts: int) -> tuple[str, ...] | None:
    """The numbers of a cell, a unit behind the last with each of them; None where they are not so many.

    >>> numbers_in("0 / -1 / +2 mm", 3)
    ('0mm', '-1mm', '+2mm')
    >>> numbers_in("0 / 0 / 1 mm.", 3)
    ('0mm.', '0mm.', '1mm.')
    >>> numbers_in("4521/4519", 2)
    ('4521', '4519')
    """
    apart_by_blanks = (_BLANK,) if n_parts >= _FEWEST_APART_BY_BLANKS else ()
    for between in (*_LOOSE, _STROKE, *apart_by_blanks):
        number = _ANY if between in _LOOSE else _NUMBER
        pieces = [piece.strip() for piece in between.split(text.strip())]
        are_readings = all(not one or number.fullmatch(one) or says_within(one) for one in pieces)
        if len(pieces) == n_parts and any(pieces) and are_readings:
            return _in_one_unit(pieces)
    return None


def listed_in(text: str, n_most: int) -> tuple[str, ...] | None:
    """The numbers of a cell that lists as many as there are, n_most or fewer; None where it is no such list.

    >>> listed_in("200, 750, 1300", 5), listed_in("200", 5), listed_in("see photo", 5)
    (('200', '750', '1300'), ('200',), None)
    """
    return next(
        (
            found
            for n in range(min(n_most, text.count(" ") + text.count("/") + text.count(";") + 1), 0, -1)
            if (found := numbers_in(text, n))
        ),
        None,
    )


def part_of_list(text: str, part: int, n_most: int) -> str:
    """One of the numbers that a cell lists, from 1; nothing where it has fewer; the whole cell where it is no list."""
    numbers = listed_in(text, n_most)
    if numbers is None:
        return text
    return numbers[part - 1] if part <= len(numbers) else ""


def part_of_several(text: str, part: int, n_parts: int) -> str:
    """One of the numbers of a cell, from 1; the whole cell where it has not so many."""
    numbers = numbers_in(text, n_parts)
    return numbers[part - 1] if numbers else text


def may_be_fractions(texts: list[str]) -> bool:
    """Whether most cells of two numbers may as well be one in parts of an inch: 1/2."""
    found = [_OF_AN_INCH.fullmatch(text.strip().lstrip("+-")) for text in texts]
    return sum(one is not None and 0 < int(one[1]) < int(one[2]) for one in found) * 2 >= len(texts)


def is_word_alone(text: str) -> bool:
    """Whether a cell says something of all its readings in a word or a tick, and has no number."""
    return bool(_WORDS.fullmatch(text.strip()))


def _in_one_unit(pieces: list[str]) -> tuple[str, ...]:
    """The numbers; where the last alone has a unit, it is that of all."""
    unit = _UNIT_AT_END.search(pieces[-1])
    if unit is None or any(_UNIT_AT_END.search(one) for one in pieces[:-1]):
        return tuple(pieces)
    return (*(f"{one}{unit[0]}" if one else "" for one in pieces[:-1]), pieces[-1].replace(" ", ""))
