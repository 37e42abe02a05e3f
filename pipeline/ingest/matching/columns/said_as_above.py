"""What a sheet says of its blanks: Team left blank = same team as the line above.

How offices write such notes is common practice, no source.
"""

import re

from pipeline.ingest.matching.columns.layout import Layout, is_as_above
from pipeline.ingest.matching.words.vocabulary import words_of

_SAYS = re.compile(
    r"\b(?:blanks?|empty|not filled in|no entry)\b.*\b(?:same|as|repeats?|copy)\b.*\b(?:above|previous|before)\b"
    r"|\b(?:same|as)\b.*\b(?:above|previous|before)\b.*\b(?:if|where|when)\b.*\b(?:blank|empty)\b",
    re.IGNORECASE,
)


def is_said_as_above(layout: Layout, heading: str) -> bool:
    """Whether a note says that a blank under a heading is the same as above; one that names none speaks of all."""
    notes = [set(words_of(text)) for text in layout.notes if _SAYS.search(text)]
    named = {one for one in layout.evidence for note in notes if _is_named(layout, one, note)}
    return heading in named if named else bool(notes)


def _is_named(layout: Layout, heading: str, note: set[str]) -> bool:
    words = set(words_of(layout.lowest(heading)))
    return bool(words) and words <= note


def is_blank_beside_blank_days(layout: Layout, heading: str) -> bool:
    """Whether a column is blank only where a column of days is that means as above: one visit, one crew."""
    blanks = [not text for text in layout.cells.texts(heading)]
    days = [one for one, evidence in layout.evidence.items() if evidence.are_days and evidence.blank]
    return any(blanks) and any(
        is_as_above(layout, one, is_day=True)
        and all(not text for text, is_blank in zip(layout.cells.texts(one), blanks, strict=True) if is_blank)
        for one in days
    )
