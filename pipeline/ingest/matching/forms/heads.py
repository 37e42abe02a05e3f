"""Headings in a form that are numbers or shares: 1 | 2 | 3 over the fixings of a jamb, Left | 1/4 | Centre over a sill.

They stand in the first row of a small table, where nothing is right above them. How such forms look is common practice,
no source.
"""

import re
from collections.abc import Callable, Sequence
from typing import TypeVar

from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.words.meaning import SURE, Meaning, reading_meaning
from pipeline.ingest.matching.words.ordinals import number_of_ordinal
from pipeline.ingest.matching.words.places import is_place
from pipeline.ingest.matching.words.vocabulary import words_of

_T = TypeVar("_T")
_COUNT, _SHARE = re.compile(r"\d{1,2}"), re.compile(r"\d/\d|[½¼¾]|\d{1,3}\s*%")
_FEWEST = 2
# The number of a row in a column headed Panel or Leaf no.; a heading of several says how many there are.
_ROW_NUMBER, _SEVERAL = re.compile(r"[1-9]\d?(?:\.0)?"), re.compile(r"s\b", re.IGNORECASE)
OF_A_LEAF = (("leaf",), ("leaf", "number"))
_OF_JAMBS = ("jamb_face", "jamb_edge")
# Heights up a jamb in mm, and what a heading over such numbers says.
_HEIGHT = re.compile(r"[1-9]\d{2,3}(?:\.0)?(?:e0)?(?:\s*mm)?")
_SAYS_HEIGHTS = re.compile(r"\b(?:heights?|up|above sill|from (?:the )?(?:sill|bottom|floor))\b", re.IGNORECASE)


def is_number_over_cells(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell is a number, or a share of a length, that stands as a heading over cells."""
    text = _counted(grid.text(row, column))
    if not text or row + 1 >= len(grid.rows) or (row and grid.text(row - 1, column)):
        return False
    if not (_COUNT.fullmatch(text) or _SHARE.fullmatch(text)):
        return False
    first, last = stretch_around(grid.texts[row], column, bool)
    texts = [_counted(grid.text(row, at)) for at in range(first, last + 1)]
    # the text in the corner stands over the labels of the rows, the others over their values
    has_corner = is_word(texts[0]) and any(map(is_word, grid.texts[row + 1][first : first + 1]))
    first, texts = (first + 1, texts[1:]) if has_corner else (first, texts)
    is_at_top = not any(grid.text(row - 1, at) for at in range(first, last + 1))
    is_labelled = any(map(is_word, grid.texts[row + 1][:first]))
    return is_at_top and is_labelled and (_count_up(texts) or _are_shares(texts))


def _counted(text: str) -> str:
    """A text as the number that it is: 2 of 2nd."""
    return number_of_ordinal(typed_number(text))


def is_height_of_a_row(grid: Grid, row: int, column: int) -> bool:
    """Whether a bare number is the height, in mm, of a row in which jambs are read: 300 under Height up jamb.

    Only such numbers stand between it and the heading, and beside the heading stand at least two that name jambs.
    """
    if not _HEIGHT.fullmatch(grid.text(row, column)):
        return False
    for above in range(row - 1, -1, -1):
        text = grid.text(above, column)
        if _HEIGHT.fullmatch(text):
            continue
        others = [grid.text(above, at) for at in grid.filled(above) if at > column]
        return bool(_SAYS_HEIGHTS.search(text)) and sum(of_a_jamb(text) is not None for text in others) >= _FEWEST
    return False


def numbers_its_row(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell is the number of its row in a small table, and no value: 1, 2, 3 down under Panel or Point.

    Nothing stands before it, and beside the heading over it are others, of what is read in the row.
    """
    if not _begins_with_a_number(grid, row, column):
        return False
    first, last = stretch_around(range(len(grid.rows)), row, lambda at: _begins_with_a_number(grid, at, column))
    heads = grid.filled(first - 1)
    heading = grid.text(first - 1, column)
    if len(heads) < _FEWEST or heads[0] != column or not is_word(heading) or is_place(heading):
        return False
    meaning = reading_meaning(heading)
    numbers = [int(float(typed_number(grid.text(at, column)))) for at in range(first, last + 1)]
    # a single 1 is the number of its row only where that is a leaf's: 1 under Panels is how many there are
    is_numbered = len(numbers) > 1 or (words_of(heading) in OF_A_LEAF and not _SEVERAL.search(heading))
    return is_numbered and numbers == list(range(1, len(numbers) + 1)) and (meaning is None or meaning.sure < SURE)


def _begins_with_a_number(grid: Grid, row: int, column: int) -> bool:
    """Whether the first cell of a row is a number that may count rows."""
    is_number = _ROW_NUMBER.fullmatch(typed_number(grid.text(row, column))) is not None
    return is_number and grid.filled(row)[0] == column


def of_a_jamb(text: str) -> Meaning | None:
    """What a text says of how far off a jamb is; None where it surely names no such reading."""
    meaning = reading_meaning(text)
    return meaning if meaning is not None and meaning.sure >= SURE and meaning.name in _OF_JAMBS else None


def stretch_around(ones: Sequence[_T], at: int, is_of: Callable[[_T], object]) -> tuple[int, int]:
    """The first and last of the texts, or rows, around one that are of a kind without a gap."""
    first = last = at
    while first > 0 and is_of(ones[first - 1]):
        first -= 1
    while last + 1 < len(ones) and is_of(ones[last + 1]):
        last += 1
    return first, last


def is_word(text: str) -> bool:
    """Whether a text is words, not a number or a letter beside one."""
    return sum(map(str.isalpha, text)) > 1


def _count_up(texts: list[str]) -> bool:
    """Whether texts are 1, 2, 3 and so on."""
    return len(texts) >= _FEWEST and texts == [str(number) for number in range(1, len(texts) + 1)]


def _are_shares(texts: list[str]) -> bool:
    """Whether texts are shares of a length, with words for the ends and the middle or 0 and 1 between them."""
    shares = [text for text in texts if _SHARE.fullmatch(text)]
    others = [text for text in texts if not _SHARE.fullmatch(text)]
    is_said = any(map(is_word, others)) or {"0", "1"} <= set(others)
    return len(shares) > 0 and is_said and all(is_word(text) or text in ("0", "1") for text in others)
