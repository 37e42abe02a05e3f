"""What a note says of the door itself: how many leaves, how wide. Nothing else is read here."""

import re

_COUNT_WORDS = {"TWO": 2, "THREE": 3, "FOUR": 4, "FIVE": 5, "SIX": 6, "SEVEN": 7, "EIGHT": 8}
_LEAVES = re.compile(rf"\b([2-9]|{'|'.join(_COUNT_WORDS)})[\s-]*(?:LEAF|LEAFS|LEAVES|PANEL|PANE|DOOR)\b(?! NO)")
_WIDTH_MM = re.compile(r"\b([1-9][0-9]{3})\s*(?:MM|WIDE)\b")
_WIDTH_M = re.compile(r"\b([1-9][.,][0-9]{1,2})\s*(?:M|METRE|METER)S?\b(?!M)")


def leaves_in(note: str | None) -> int | None:
    """The number of leaves that a note names. `leaf 3` is a place, not a count.

    >>> leaves_in("the 4 leaf door upstairs"), leaves_in("three-leaf set"), leaves_in("leaf 3 drops")
    (4, 3, None)
    """
    found = {match[1] for match in _LEAVES.finditer((note or "").upper())}
    counts = {_COUNT_WORDS.get(text) or int(text) for text in found}
    return counts.pop() if len(counts) == 1 else None


def width_in(note: str | None) -> float | None:
    """The width that a note names, mm.

    >>> width_in("on the 4200 wide set"), width_in("4.2 m door"), width_in("gap 3 mm")
    (4200.0, 4200.0, None)
    """
    text = (note or "").upper()
    widths = {float(match[1]) for match in _WIDTH_MM.finditer(text)}
    widths |= {round(1000 * float(match[1].replace(",", "."))) for match in _WIDTH_M.finditer(text)}
    return float(widths.pop()) if len(widths) == 1 else None
