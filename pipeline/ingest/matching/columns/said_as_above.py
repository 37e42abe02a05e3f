"""What a sheet says of its blanks: Team left blank = same team as the line above.

How offices write such notes is common practice, no source.
"""

import re
from collections import Counter

from pipeline.ingest.matching.columns.layout import Layout, is_as_above
from pipeline.ingest.matching.words.vocabulary import words_of

_SAYS = re.compile(
    r"\b(?:blanks?|empty|not filled in|no entry)\b.*\b(?:same|as|repeats?|copy)\b.*\b(?:above|previous|before)\b"
    r"|\b(?:same|as)\b.*\b(?:above|previous|before)\b.*\b(?:if|where|when)\b.*\b(?:blank|empty)\b",
    re.IGNORECASE,
)
_SENTENCE = re.compile(r"[.;|\n]\s*")
# Words by which such a note says where its blanks are, and names no heading.
_OF_NOTES = frozenset({"left", "blank", "blanks", "same", "above", "line", "row", "previous", "before", "if", "where"})


def is_said_as_above(layout: Layout, heading: str) -> bool:
    """Whether a note says that a blank under a heading is the same as above; one that names none speaks of all."""
    named = _named(layout, notes := _notes(layout))
    return heading in named if named else bool(notes)


def is_named_as_above(layout: Layout, heading: str) -> bool:
    """Whether a note that says so names this very heading."""
    return heading in _named(layout, _notes(layout))


def _notes(layout: Layout) -> list[set[str]]:
    """The words of each sentence that says so."""
    sentences = (part for text in layout.notes for part in _SENTENCE.split(text))
    return [set(words_of(text)) for text in sentences if _SAYS.search(text)]


def _named(layout: Layout, notes: list[set[str]]) -> set[str]:
    """The headings that notes name, by all of their words or, where some cells are blank, by one that no other has."""
    words = {one: set(words_of(layout.lowest(one))) for one in layout.evidence}
    times = Counter(word for mine in words.values() for word in mine)
    said = {word for note in notes for word in note}
    by_a_word = {word for word in said - _OF_NOTES if times[word] == 1}
    return {
        one
        for one, mine in words.items()
        if any(mine and mine <= note for note in notes) or (mine & by_a_word and layout.evidence[one].blank)
    }


def is_blank_beside_blank_days(layout: Layout, heading: str) -> bool:
    """Whether a column is blank only where a column of days is that means as above: one visit, one crew."""
    blanks = [not text for text in layout.cells.texts(heading)]
    days = [one for one, evidence in layout.evidence.items() if evidence.are_days and evidence.blank]
    return any(blanks) and any(
        is_as_above(layout, one, is_day=True)
        and all(not text for text, is_blank in zip(layout.cells.texts(one), blanks, strict=True) if is_blank)
        for one in days
    )
