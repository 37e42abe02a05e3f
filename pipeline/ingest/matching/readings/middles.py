"""A bare M at the end of a heading: the middle where its like end with L and R, or with T and B; else metres.

So too in brackets: Sill (L), Sill (M), Sill (R). A capital without its like is the middle of what was read where the
numbers cannot be metres of it. How headings are written is common practice, no source.
"""

import re

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.evidence import units_that_fit
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.sheet.headings import without_number
from pipeline.ingest.matching.words.meaning import SURE, reading_meaning
from pipeline.ingest.matching.words.vocabulary import words_of

# What a heading is of, the word for where, and a unit or a number of the heading behind it.
_ENDS = re.compile(
    r"(?P<of>.*[^\W_])[\s,_/([-]+(?P<where>[^\W\d_]+)\s*[)\]]?(?P<behind>\s*(?:[(\[]?(?:mm|cm)[)\]]?)?)\s*"
)
_PAIRS = (frozenset({"left", "right"}), frozenset({"top", "bottom"}))
_LETTERS = {"l": "left", "r": "right", "t": "top", "b": "bottom"}
_METRES, _MIDDLE = "m", "middle"


def middles(layout: Layout) -> dict[str, str]:
    """By heading (folded) that ends with an M which is the middle: what it says in full, Sill height middle."""
    ends = {heading: found for heading in layout.evidence if (found := _ENDS.fullmatch(_said(layout, heading)))}
    beside: dict[str, set[str]] = {}
    for found in ends.values():
        beside.setdefault(folded(found["of"]), set()).add(_side(found["where"]))
    return {
        heading: f"{found['of']} {_MIDDLE}{found['behind']}"
        for heading, found in ends.items()
        if found["where"].casefold() == _METRES
        and (any(pair <= beside[folded(found["of"])] for pair in _PAIRS) or _is_no_metres(layout, heading, found))
    }


def _said(layout: Layout, heading: str) -> str:
    return without_number(layout.said(heading))


def _side(word: str) -> str:
    side = " ".join(words_of(word))
    return _LETTERS.get(side, side)


def _is_no_metres(layout: Layout, heading: str, found: re.Match[str]) -> bool:
    """Whether a capital M stands behind a reading that has a middle, and the numbers cannot be metres of it."""
    meaning = reading_meaning(f"{found['of']} {_MIDDLE}")
    if found["where"] != "M" or meaning is None or meaning.sure < SURE or meaning.place.share is None:
        return False
    evidence = layout.evidence[heading]
    return bool(evidence.values) and "m" not in units_that_fit(meaning.name, evidence)
