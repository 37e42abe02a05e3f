"""A sheet, or a corner of one, that explains short codes of headings or items: Code | Meaning, SL-L | Sill level left.

Read only where a name or a heading says that it is such a key, and only for codes that look like none of the words of
headings. How offices write keys is common practice, no source.
"""

import re
from collections.abc import Iterator

from pipeline.ingest.matching.sheet.blocks import MOST_BLOCKS, blocks_of
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.words.heading_units import unit_named
from pipeline.ingest.matching.words.meaning import SURE, column_likeness
from pipeline.ingest.matching.words.places_together import places_spelt_out
from pipeline.ingest.records import INSTALLS

_MOST_ROWS = 200
# Words that say that a sheet is a key; of its headings two must say so.
_SAYS_KEY = re.compile(
    r"\b(?:keys?|codes?|legend|abbreviations?|abbr|glossary|symbols?|short\s*forms?)\b", re.IGNORECASE
)
_SAYS_MEANING = re.compile(
    r"\b(?:meaning|means|stands? for|explanation|description|in full|what it is|refers to|column|heading|"
    r"what is (?:measured|read|checked)|measurement|reading|measure)\b",
    re.IGNORECASE,
)
# SL-L, FD1, HG.H, W; a word in small letters is no code.
_CODE = re.compile(r"(?=[^a-z]*[A-Z])[A-Z0-9][A-Za-z0-9]{0,4}(?:[-_./][A-Za-z0-9]{1,4}){0,3}")
_SMALL = re.compile(r"[a-z]{3}")
_LIST, _TAIL = re.compile(r"\s*(?:,|;|\s/\s|\band\b|&)\s*"), re.compile(r"\s*[,;]\s*")
_IN_ONE_CELL = re.compile(r"\s*(?:=|:|\s[-–—]\s)\s*")
_SHORTEST = 3
# What happened on a day explains no code.
_DAY = re.compile(r"\d{1,4}([-/.])\d{1,2}\1\d{1,4}(?:[T ].*)?")
# Beside code and meaning a key may say the unit and how to read, in a few columns more.
_MOST_COLUMNS = 6
# A sheet is nothing but a key where no more rows than title and headings explain no code.
_FEWEST_CODES, _MOST_OTHERS = 2, 2


def codes_in(grid: Grid) -> list[tuple[str, str]]:
    """(code, what it means) of the keys of a sheet; none where it has none."""
    if not grid.rows or len(grid.rows) > _MOST_ROWS:
        return []
    if grid.name and _SAYS_KEY.search(grid.name):
        return [] if _lists_doors(grid) else list(_pairs(grid))
    parts = (grid.part(area) for area in blocks_of(grid)[:MOST_BLOCKS])
    return [pair for part in parts if _is_key(part) for pair in _pairs(part)]


def is_key(grid: Grid, codes: frozenset[str]) -> bool:
    """Whether a sheet holds nothing but codes with their meanings, beneath a title and headings.

    codes  those that sheets explain; numbers of doors or jobs are none of them
    """
    if not codes_in(grid):
        return False
    n_filled = sum(not grid.is_blank(row) for row in range(len(grid.rows)))
    n_explaining = sum(not codes.isdisjoint(_codes(grid, row)) for row in range(len(grid.rows)))
    return n_explaining >= _FEWEST_CODES and n_filled - n_explaining <= _MOST_OTHERS


def _lists_doors(part: Grid) -> bool:
    """Whether the first of its headings numbers doors or jobs: Door code, beside which stands what was read."""
    rows = (part.filled(row) for row in range(len(part.rows)))
    row, filled = next(((row, filled) for row, filled in enumerate(rows) if len(filled) > 1), (0, [0]))
    text = part.text(row, filled[0])
    return any(column_likeness(INSTALLS.name, one, text) >= SURE for one in (INSTALLS.key[0], "job_no"))


def _is_key(part: Grid) -> bool:
    """Whether the first row of a block says that codes and their meanings stand below it."""
    texts = [part.texts[0][at] for at in part.filled(0)]
    is_headed = 2 <= len(texts) <= _MOST_COLUMNS and _SAYS_KEY.search(texts[0]) and _SAYS_MEANING.search(texts[1])
    is_titled = len(texts) == 1 and _SAYS_KEY.match(texts[0]) and len(texts[0].split()) <= _SHORTEST
    return bool(is_headed or is_titled) and not _lists_doors(part)


def _pairs(part: Grid) -> Iterator[tuple[str, str]]:
    for row in range(len(part.rows)):
        if codes := _codes(part, row):
            yield from zip(codes, _meanings(_explained(part, row)[1:], len(codes)), strict=False)


def _codes(part: Grid, row: int) -> list[str]:
    """The codes that a row explains; none where it does not."""
    texts = _explained(part, row)
    if len(texts) < 2 or sum(map(str.isalpha, texts[1])) < _SHORTEST or any(map(_DAY.fullmatch, texts)):
        return []
    codes = _LIST.split(texts[0].strip())
    return codes if all(_CODE.fullmatch(code) and not _SMALL.search(code) for code in codes) else []


def _explained(part: Grid, row: int) -> list[str]:
    """The filled cells of a row; code and meaning that stand in one cell taken apart."""
    texts = [part.texts[row][at] for at in part.filled(row)]
    return _IN_ONE_CELL.split(texts[0], maxsplit=1) if len(texts) == 1 else texts


def _meanings(texts: list[str], n_codes: int) -> tuple[str, ...]:
    """What each of several codes means that are explained together; nothing where that is not plain.

    texts  the meaning, and what stands beside it: the unit may be there
    """
    pieces = _TAIL.split(texts[0].strip(" ."))
    tail = [one for one in texts[1:] if unit_named(one)][:1]
    while len(pieces) > 1 and (unit_named(pieces[-1]) or "+" in pieces[-1] or "=" in pieces[-1]):
        tail.insert(0, pieces.pop())
    behind = f" ({', '.join(tail)})" if tail else ""
    if n_codes == 1:
        return (f"{', '.join(pieces)}{behind}",)
    return tuple(f"{one}{behind}" for one in places_spelt_out(", ".join(pieces), n_codes))
