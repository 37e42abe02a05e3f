"""Turns notes into numbers: words, pieces of words, parts with what is said of them, and signs of faults.

What is denied, sound or told of an earlier visit counts apart. Never learns a fault.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from pipeline.ingest.coding.lexicon import Lexicon
from pipeline.ingest.coding.reading import Clause, read_note

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

_ENDINGS = ("ing", "ed", "es", "s")
_UNITS = frozenset(("#", "mm"))
# What the lexicon finds counts a little more than words alone.
THING_WEIGHT, SIGN_WEIGHT = 1.3, 0.4


@dataclass(frozen=True)
class NoteFeatures:
    """What one note holds. said: its words as text; words, things: features as text; signs, own: faults; answers: who
    answers for it."""

    said: str
    words: tuple[str, ...]
    things: tuple[str, ...]
    signs: frozenset[str]
    own: frozenset[str]
    answers: frozenset[str]


def features_of(note: str, lexicon: Lexicon) -> NoteFeatures:
    """The features of one note."""
    words: list[str] = []
    things: list[str] = []
    signs: set[str] = set()
    own: set[str] = set()
    answers: set[str] = set()
    said: list[str] = []
    around: list[str] = []
    for clause in read_note(note, lexicon):
        mark = "old:" if clause.is_earlier else "well:" if clause.is_well else ""
        # a condition without a part of its own is said of the part named last
        around = clause.named("part") or around
        words += _words(clause, mark, lexicon)
        things += _things(clause, around, mark)
        if not mark:
            said += clause.words
            signs |= _signs(clause, around, lexicon)
            own |= set(clause.named("own"))
            answers |= set(clause.named("answer"))
    things += [] if signs else ["no sign"]
    return NoteFeatures(
        " ".join(said), tuple(words), tuple(things), frozenset(signs | own), frozenset(own), frozenset(answers)
    )


def _words(clause: Clause, mark: str, lexicon: Lexicon) -> list[str]:
    stems = [_stem(word) for word in clause.words if word not in _UNITS]
    content = [_stem(word) for word in clause.words if word not in lexicon.fillers]
    pairs = [f"{one}_{other}" for one, other in pairwise(content)]
    return [mark + word for word in (*stems, *pairs)]


def _things(clause: Clause, around: list[str], mark: str) -> list[str]:
    states = clause.named("state")
    parts = [f"{mark}part {part}" for part in clause.named("part")]
    pairs = [f"{mark}{part} {state}" for part in around for state in states]
    return parts + [f"{mark}state {state}" for state in states] + pairs + [f"not {name}" for _, name in clause.denied]


def _signs(clause: Clause, around: list[str], lexicon: Lexicon) -> set[str]:
    states, parts = set(clause.named("state")), set(around)
    if not states:
        return set(clause.named("sign"))
    told = {sign.fault for sign in lexicon.signs if states & sign.states and (not sign.parts or sign.parts & parts)}
    return told | set(clause.named("sign"))


@lru_cache(maxsize=50_000)
def _stem(word: str) -> str:
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word[: -len(ending)]
    return word


class NoteMatrix:
    """Learns the features of some notes; gives rows of numbers for any."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        from sklearn.feature_extraction.text import TfidfVectorizer

        self._words = TfidfVectorizer(analyzer=_words_of, sublinear_tf=True, min_df=2)
        self._things = TfidfVectorizer(analyzer=_things_of, sublinear_tf=True)
        self._pieces = TfidfVectorizer(
            analyzer="char_wb", ngram_range=(3, 5), sublinear_tf=True, min_df=2, preprocessor=_said_of
        )
        self._faults = faults

    def learn(self, notes: list[NoteFeatures]) -> "csr_matrix":
        """The rows of the notes that the features are learnt from."""
        for vectorizer in (self._words, self._things, self._pieces):
            vectorizer.fit(notes)
        return self.rows(notes)

    def rows(self, notes: list[NoteFeatures]) -> "csr_matrix":
        """One row a note."""
        from scipy.sparse import hstack

        words, things, pieces = (part.transform(notes) for part in (self._words, self._things, self._pieces))
        return hstack([words, things * THING_WEIGHT, pieces, self.signs(notes) * SIGN_WEIGHT]).tocsr()

    def signs(self, notes: Iterable[NoteFeatures]) -> "csr_matrix":
        """1 where the lexicon finds a sign of the fault; a row a note, a column a fault."""
        from scipy.sparse import csr_matrix

        return csr_matrix([[float(fault in note.signs) for fault in self._faults] for note in notes])


def _words_of(note: NoteFeatures) -> tuple[str, ...]:
    return note.words


def _things_of(note: NoteFeatures) -> tuple[str, ...]:
    return note.things


def _said_of(note: NoteFeatures) -> str:
    return note.said
