"""Who answers for a callback, where its note says so in plain words; else nobody is named.

How sure that is comes from the firm's own callbacks that have both a note and a responsibility keyed.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from pipeline.ingest.coding.features import NoteFeatures
from pipeline.ingest.coding.lexicon import Lexicon

# Before a firm has keyed any: right 8 times in 10, as sure as 10 callbacks would make it; a judgement, no source.
PRIOR_RIGHT, PRIOR_SEEN = 8.0, 10.0
LEAST_CONFIDENCE = 0.7


@dataclass(frozen=True)
class Answers:
    """confidence: by responsibility, how often notes that name it are right."""

    lexicon: Lexicon
    confidence: dict[str, float]

    def of(self, note: NoteFeatures, faults: Iterable[str]) -> tuple[str, float] | None:
        """The responsibility a note with these faults names, with its confidence; None where it names none or two."""
        named = named_in(note, faults, self.lexicon)
        confidence = self.confidence.get(named or "", PRIOR_RIGHT / PRIOR_SEEN)
        return (named, confidence) if named and confidence >= LEAST_CONFIDENCE else None


def named_in(note: NoteFeatures, faults: Iterable[str], lexicon: Lexicon) -> str | None:
    """The one responsibility that a note names by its words or by its faults."""
    by_fault = {lexicon.answers_by_fault[fault] for fault in faults if fault in lexicon.answers_by_fault}
    # somebody else's damage goes before what the damage looks like
    named = {"use"} if "use" in by_fault else by_fault | note.answers
    return next(iter(named)) if len(named) == 1 else None


def confidences(pairs: Iterable[tuple[str | None, str]]) -> dict[str, float]:
    """Share right by responsibility named. pairs: (named in the note, keyed) of the firm's own callbacks."""
    seen: dict[str, float] = {}
    right: dict[str, float] = {}
    for named, keyed in pairs:
        if named and keyed != "unknown":
            seen[named] = seen.get(named, 0.0) + 1
            right[named] = right.get(named, 0.0) + (named == keyed)
    return {name: (right[name] + PRIOR_RIGHT) / (seen[name] + PRIOR_SEEN) for name in seen}
