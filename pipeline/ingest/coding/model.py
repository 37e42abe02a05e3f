"""Learns which faults notes are about; gives each fault of a note a calibrated chance, or abstains.

Ridge regression on all faults at once: its scores for a note left out of the learning are known exactly, without
fitting again, and they are what chances and the bar for an answer are learnt from. No random draw.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from pipeline.ingest.coding.features import NoteFeatures, NoteMatrix, features_of
from pipeline.ingest.coding.lexicon import Lexicon

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from scipy.sparse import csr_matrix

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

NO_FAULT, UNCLEAR = "no_fault", "unclear"
ALONE = (NO_FAULT, UNCLEAR)
# How sure a fault is that the firm's own words are a sign of; a judgement, not measured.
OWN_WORD_CHANCE = 0.9
# Answers are to be right so often, judged on notes left out; a little above what is promised.
WANTED_PRECISION = 0.91
_PENALTY = 2.0


@dataclass(frozen=True)
class Example:
    """A note whose faults are known. weight: how much it counts, 1 for a note labelled by hand."""

    note: str
    faults: frozenset[str]
    weight: float = 1.0


@dataclass(frozen=True)
class Bars:
    """guess: the chance from which a fault is the best guess. code: from which it is answered, in a note whose surest
    fault reaches `note`."""

    guess: float
    code: float
    note: float


class NoteModel:
    """Learnt from examples; see `learn`. faults: the codes in their order, columns of every table of chances."""

    def __init__(self, lexicon: Lexicon, faults: tuple[str, ...]) -> None:
        self.faults = faults
        self._lexicon = lexicon
        self._matrix = NoteMatrix(faults)

    def learn(self, examples: list[Example]) -> "NoteModel":
        """Learns scores, chances and bars. Notes of one wording must be one example, or the chances are too high."""
        notes = self.read([example.note for example in examples])
        rows = self._matrix.learn(notes)
        said = np.array([[fault in example.faults for fault in self.faults] for example in examples], dtype=float)
        weights = np.array([example.weight for example in examples])
        self._slopes, self._starts, left_out = _ridge(rows, said, weights)
        # only labels given by hand are complete, so only they say how often a score is right
        by_hand = np.flatnonzero(weights == 1)
        left_out, said, notes = left_out[by_hand], said[by_hand], [notes[place] for place in by_hand]
        self._stage_two = _chances_learnt(self._stage(left_out, notes), said)
        self.bars = _bars(self._chances(left_out, notes), said > 0, self.faults)
        return self

    def read(self, notes: list[str]) -> list[NoteFeatures]:
        """What the notes say, for `chances`."""
        return [features_of(note, self._lexicon) for note in notes]

    def chances(self, features: list[NoteFeatures]) -> "Floats":
        """One row a note, one column a fault: the calibrated chance that the note is about it."""
        scores = self._matrix.rows(features) @ self._slopes + self._starts
        return self._chances(scores, features)

    def _stage(self, scores: "Floats", notes: list[NoteFeatures]) -> "Floats":
        """What a chance depends on: the score, how far it leads the note's other scores, the lexicon's sign."""
        signs = self._matrix.signs(notes).toarray()
        ordered = np.sort(scores, axis=1)
        best, second = ordered[:, -1:], ordered[:, -2:-1]
        lead = scores - np.where(scores == best, second, best)
        n_signs = np.repeat(signs.sum(axis=1, keepdims=True), scores.shape[1], axis=1)
        alone = np.zeros_like(scores)
        alone[:, [self.faults.index(fault) for fault in ALONE]] = 1.0
        columns = (scores, lead, signs, signs * scores, n_signs, alone, alone * lead, alone * n_signs)
        return np.column_stack([column.ravel() for column in columns])

    def _chances(self, scores: "Floats", notes: list[NoteFeatures]) -> "Floats":
        chances: Floats = self._stage_two.predict_proba(self._stage(scores, notes))[:, 1].reshape(scores.shape)
        own = np.array([[fault in note.own for fault in self.faults] for note in notes])
        return np.where(own, np.maximum(chances, OWN_WORD_CHANCE), chances)


def _ridge(rows: "csr_matrix", said: "Floats", weights: "Floats") -> tuple["Floats", "Floats", "Floats"]:
    """Slopes and starts by fault, and each example's scores had it been left out (exact; Allen's PRESS residuals)."""
    gram = (rows @ rows.T).toarray() + 1.0 + np.diag(_PENALTY / weights)
    inverse = np.linalg.inv(gram)
    shares = inverse @ said
    left_out = said - shares / np.diag(inverse)[:, None]
    return np.asarray(rows.T @ shares), shares.sum(axis=0), left_out


def _chances_learnt(stage: "Floats", said: "Floats") -> Any:
    from sklearn.linear_model import LogisticRegression

    return LogisticRegression(C=10.0, max_iter=1000).fit(stage, said.ravel() > 0)


def best_guess(chances: "Floats", faults: tuple[str, ...], bar: float) -> "Flags":
    """The faults from the bar on; `no_fault` and `unclear` stand alone, where they are likelier than any fault."""
    alone = [faults.index(fault) for fault in ALONE]
    others = np.delete(np.arange(len(faults)), alone)
    picked = chances >= bar
    is_alone = chances[:, alone].max(axis=1) >= chances[:, others].max(axis=1)
    picked[is_alone] = False
    picked[np.ix_(~is_alone, alone)] = False
    surest = np.array(alone)[chances[:, alone].argmax(axis=1)]
    picked[np.flatnonzero(is_alone), surest[is_alone]] = True
    return picked


def answers(chances: "Floats", faults: tuple[str, ...], bars: Bars) -> "Flags":
    """The faults that are sure enough; a note without any is unclear, and so is one that is most likely unclear."""
    picked = best_guess(chances, faults, bars.code) & (chances >= bars.code)
    picked[:, faults.index(UNCLEAR)] = False
    picked[np.where(picked, chances, 0.0).max(axis=1) < bars.note] = False
    return picked


def _bars(chances: "Floats", said: "Flags", faults: tuple[str, ...]) -> Bars:
    steps = np.arange(0.1, 0.9, 0.02)
    guess = float(max(steps, key=lambda bar: _f1(best_guess(chances, faults, bar), said)))
    found = [
        (picked.any(axis=1).mean(), picked[:, :].sum(), bars)
        for bars in (Bars(guess, float(code), float(note)) for code in steps[5:] for note in steps[5:] if note >= code)
        for picked in [answers(chances, faults, bars)]
        if picked.any() and (picked & said).sum() / picked.sum() >= WANTED_PRECISION
    ]
    return max(found, key=lambda row: row[:2])[2] if found else Bars(guess, 0.9, 0.9)


def _f1(picked: "Flags", said: "Flags") -> float:
    return float(2 * (picked & said).sum() / max(picked.sum() + said.sum(), 1))
