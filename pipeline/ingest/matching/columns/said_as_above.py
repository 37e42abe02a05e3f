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
_ASIDE = re.compile(r"\([^()]*\)|\[[^\[\]]*\]|(?:\s[-–—]|,)\s*(?:but|not|except|while|though)\b.*", re.IGNORECASE)
# Words by which such a note says where its blanks are, and names no heading.
_OF_NOTES = frozenset({"left", "blank", "blanks", "same", "above", "line", "row", "previous", "before", "if", "where"})


def is_said_as_above(layout: Layout, heading: str) -> bool:
    """Whether a note says that a blank under a heading is the same as above; one that names none speaks of all."""
    named = _named(layout, notes := _notes(layout))
    return heading in named if named else bool(notes)


def is_named_as_above(layout: Layout, heading: str) -> bool:
    """Whether a note that says so names this very heading."""
    return heading in _named(layout, _notes(layout))


def _notes(layout: Layout) -> list[str]:
    """Each sentence that says so."""
    return [part for text in layout.notes for part in _SENTENCE.split(text) if _SAYS.search(part)]


def _named(layout: Layout, notes: list[str]) -> set[str]:
    """The headings that notes name; what stands in brackets or behind a but is an aside where the rest names some."""
    found: set[str] = set()
    for note in notes:
        rest = _ASIDE.sub(" ", note)
        found |= (_named_by(layout, rest) if _SAYS.search(rest) else set()) or _named_by(layout, note)
    return found


def _named_by(layout: Layout, note: str) -> set[str]:
    """Those that it names by all of their words or, where some cells are blank, by one that no other has."""
    words = {one: set(words_of(layout.lowest(one))) for one in layout.evidence}
    times = Counter(word for mine in words.values() for word in mine)
    said = set(words_of(note))
    by_a_word = {word for word in said - _OF_NOTES if times[word] == 1}
    return {
        one
        for one, mine in words.items()
        if (mine and mine <= said) or (mine & by_a_word and layout.evidence[one].blank)
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
