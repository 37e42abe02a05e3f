"""Two numbers in one cell: 4000 x 2100."""

import re

_BETWEEN = re.compile(r"\s*(?:[x×*]|\bby\b)\s*", re.IGNORECASE)
_SIDE = re.compile(r"\s*(?:wide|high|w|h)\.?$", re.IGNORECASE)
_UNIT = re.compile(r"(?:mm|cm|m|in|\"|''|')$", re.IGNORECASE)
_NUMBER = re.compile(
    r"\d+\s*'\s*-?\s*\d+(?:[ -]\d+/\d+)?\s*(?:\"|'')|\d[\d.,]*(?:[ -]\d+/\d+)?\s*(?:mm|cm|m|in|\"|''|')?", re.IGNORECASE
)


def parts_of_cell(text: str) -> tuple[str, str] | None:
    """The two numbers of a cell, letters for the sides left out; None where it is no pair. A depth may follow."""
    parts = [_SIDE.sub("", part) for part in _BETWEEN.split(text.strip())]
    if len(parts) not in (2, 3) or not all(map(_NUMBER.fullmatch, parts)):
        return None
    # a unit behind the last number is that of all: 3.6 x 2.1m
    unit = "" if _UNIT.search(parts[0]) else next((found[0] for part in parts[1:] if (found := _UNIT.search(part))), "")
    first, second = (part if _UNIT.search(part) else f"{part}{unit}" for part in parts[:2])
    return first, second


def part_of_cell(text: str, part: int) -> str:
    """The first or second number of a cell; the whole cell where it is no pair, for people to see what stands there."""
    parts = parts_of_cell(text)
    return parts[part - 1] if parts else text
