"""Proposes a column that tells a level by the end that is low, 3 L, as two readings: that end below, the other at 0.

Only where nothing in the sheet says that the letter means another thing. How firms write so is common practice, no
source.
"""

import re
from dataclasses import replace

from pipeline.catalogue import Catalogue
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.readings.parts_of_cells import entries_of_parts
from pipeline.ingest.matching.sheet.grid import Cell
from pipeline.ingest.matching.sheet.low_ends import ENDS, height_at, low_end
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.matching.words.vocabulary import words_of
from pipeline.ingest.texts.numbers import read_number, says_within

_FEWEST = 2
# A note by which the letter is the end that is high, or that has to be packed.
_NOT_LOW = re.compile(r"\b(?:high|higher|up|pack\w*|shim\w*|\+)", re.IGNORECASE)
_MEMBERS = frozenset({"sill", "head", "jamb", "lintel", "transom", "track", "threshold"})
_LOW_END = re.compile(
    r"[(\[]?\b(?:and\s+)?(?:which\s+|the\s+)?(?:(?:end|side)\s+(?:that\s+|which\s+)?(?:is\s+)?low|low(?:er|est)?[\s-]+(?:end|side))\b[)\]]?",
    re.IGNORECASE,
)
# How the heading asks for it: how much low & which end (other end = 0).
_ASKS_FOR_IT = (
    re.compile(
        r"\b(?:the\s+)?other\s+(?:end|side)?\s*(?:=|:|is|at|as)?\s*(?:0|zero|nil|nought|level)\b", re.IGNORECASE
    ),
    re.compile(r"\b(?:and\s+|at\s+|to\s+)?(?:which|what)\s+(?:end|side)\b", re.IGNORECASE),
    re.compile(r"\b(?:how\s+(?:much|far|many)|amount|by\s+how\s+much)\b", re.IGNORECASE),
)
_LOW_ALONE = re.compile(r"\b(?:it\s+is\s+|is\s+|it\s+)?(?:low(?:er)?|down)\b(?:\s+(?:it\s+is|by))?", re.IGNORECASE)
_SAYS_LOW = re.compile(r"\blow(?:er|est)?\b|\bdown\b", re.IGNORECASE)


def low_ends(layout: Layout, catalogue: Catalogue, leaves: float | None) -> list[Proposed]:
    """Two entries for each column of sill heights whose numbers all name the end that is low."""
    found = []
    for heading in layout.evidence:
        texts = [text for text in layout.cells.texts(heading) if text]
        if _tell_ends(texts) and not _say_otherwise([layout.said(heading), *layout.notes]):
            found += _entries(layout, heading, texts, (catalogue, leaves))
    return found


def _tell_ends(texts: list[str]) -> bool:
    """Whether every number but 0 has an end beside it, and there are several."""
    ends = []
    for text in texts:
        number, _ = read_number(text)
        if low_end(text):
            ends.append(text)
        elif not says_within(text) and (number is None or number.value != 0):
            return False
    return len(ends) >= _FEWEST


def _say_otherwise(said: list[str]) -> bool:
    """Whether a heading or note speaks of what is high or packed and of nothing low."""
    return any(_NOT_LOW.search(text) for text in said) and not any(_SAYS_LOW.search(text) for text in said)


def _in_full(said: str) -> str:
    """What a heading says beside that it tells the low end; a bare Level is the sill's, and a bare Sill its level."""
    plain = _LOW_END.sub(" ", said)
    for asks in _ASKS_FOR_IT:
        plain = asks.sub(" ", plain)
    if plain != said:
        plain = _LOW_ALONE.sub(" ", plain)
    words = set(words_of(plain))
    if words == {"sill"} and plain != said:
        return f"level {plain}"
    return f"sill {plain}" if "level" in words and not words & _MEMBERS else plain


def _entries(layout: Layout, heading: str, texts: list[str], given: tuple[Catalogue, float | None]) -> list[Proposed]:
    said = _in_full(layout.said(heading))
    parts: list[tuple[str, list[Cell]]] = [(f"{said} {end}", [height_at(text, end) for text in texts]) for end in ENDS]
    entries = entries_of_parts(layout, heading, parts, given, least=0.0)
    if any(dict(one.each.fixed).get("measure") != "sill_height" for one in entries):
        return []
    return [
        replace(
            one,
            each=replace(one.each, low=end),
            why=f"{one.why}; its letters name the end that is low, the other is 0",
            sure=one.sure if one.doubt else max(one.sure, SURE),
        )
        for one, end in zip(entries, ENDS, strict=False)
    ]
