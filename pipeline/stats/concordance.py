"""How well scores put rows in the order of their events, whatever the watching: concordance with its error.

At each event the row that has it is set against all that are at risk at the same age: a row may enter late and leave
early. Left alone, who is watched when would decide which ages count most; each age is therefore weighed by the inverse
of the share of rows watched there, for the event and for those it is set against, as Uno does for censoring alone.

Sources: Harrell, Lee and Mark (1996), Stat. Med. 15, 361-387; Uno, Cai, Pencina, D'Agostino and Wei (2011), Stat. Med.
30, 1105-1117; Hartman, Kim, He and Kalbfleisch (2023), Biometrics 79, 1624-1634 (late entry); errors by the
infinitesimal jackknife (Efron 1982).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.stats.intervals import Floats
from pipeline.stats.leaving_out import reported_variance

LEAST_WATCHED = 0.05  # of the most rows watched at any age: ages with fewer are left out, their weights run away
MOST_EVENTS = 2000  # of one kind that are set against the others: more would make the error no smaller than it need be


@dataclass(frozen=True)
class Followed:
    """One kind of event on n rows, each watched from the age `entry` to `leave`, at which the event comes or none.

    scores   (n, S) higher: sooner;  events (n,) 1 or 0;  weights (n,) how many rows each stands for
    units    (n,) number of what the row is of, the same in all kinds;  groups (n,) its group
    """

    scores: Floats
    entry: Floats
    leave: Floats
    events: Floats
    weights: Floats
    units: NDArray[np.int64]
    groups: NDArray[np.int64]


@dataclass(frozen=True)
class Concordance:
    """estimate (S,): chance that of two rows at risk the one with the event has the higher score, ties a half.

    pulls (N, S) of each unit on it;  groups (N,) of the units;  events: how many were set against others
    """

    estimate: Floats
    pulls: Floats
    groups: NDArray[np.int64]
    events: int

    def error(self, contrast: Sequence[float]) -> float:
        """Standard error of a sum of estimates; the larger of that between units and its mean with that of groups."""
        pulls = self.pulls @ np.asarray(contrast, dtype=float)
        by_group = np.bincount(self.groups, pulls)
        n_groups = len(np.unique(self.groups[self.pulls.any(axis=1)]))
        own, of_groups = float(pulls @ pulls), np.nan
        if n_groups > 1:
            of_groups = float(by_group @ by_group) * n_groups / (n_groups - 1)
        return float(np.sqrt(reported_variance(own, of_groups)))


@dataclass(frozen=True)
class _Pairs:
    """Of each row: the weight of the pairs it stands in (n,), and of those that are in the right order (n, S)."""

    pairs: Floats
    right: Floats
    events: int


def concordance(kinds: Sequence[Followed], seed: int = 0, is_weighed: bool = True) -> Concordance | None:
    """Of all kinds together, rows compared within a kind only; None where no event has anything to be set against.

    is_weighed  False gives each pair the same weight (Harrell's)
    """
    found = [(kind, _pairs(kind, seed, is_weighed)) for kind in kinds]
    found = [(kind, part) for kind, part in found if part.pairs.sum() > 0]
    if not found:
        return None
    units = 1 + max(int(kind.units.max()) for kind, _ in found)
    pairs, right = np.zeros(units), np.zeros((units, found[0][1].right.shape[1]))
    groups = np.zeros(units, dtype=np.int64)
    for kind, part in found:
        # kinds count by their events, however their ages are weighed
        share = part.events / part.pairs.sum()
        pairs[kind.units] += share * part.pairs
        right[kind.units] += share * part.right
        groups[kind.units] = kind.groups
    estimate = right.sum(axis=0) / pairs.sum()
    # each pair stands with both its rows, so their sum is twice that of all pairs
    pulls = (right - pairs[:, None] * estimate) / (pairs.sum() / 2)
    return Concordance(estimate, pulls, groups, sum(part.events for _, part in found))


def _pairs(kind: Followed, seed: int, is_weighed: bool) -> _Pairs:
    n = len(kind.leave)
    pairs, right = np.zeros(n), np.zeros((n, kind.scores.shape[1]))
    rows, weights = _events(kind, seed, is_weighed)
    for row, weight in zip(rows, weights, strict=True):
        age = kind.leave[row]
        # what has its own event at the same age is not set against it: neither came first
        at_risk = (kind.entry < age) & ((kind.leave > age) | ((kind.leave == age) & (kind.events == 0)))
        others = np.flatnonzero(at_risk)
        each = weight * kind.weights[row] * kind.weights[others]
        apart = kind.scores[row] - kind.scores[others]
        is_right = each[:, None] * ((apart > 0) + 0.5 * (apart == 0))
        pairs[others] += each
        right[others] += is_right
        pairs[row] += each.sum()
        right[row] += is_right.sum(axis=0)
    return _Pairs(pairs, right, len(rows))


def _events(kind: Followed, seed: int, is_weighed: bool) -> tuple[NDArray[np.int64], Floats]:
    """Rows with an event that are set against others, and the weight of their age."""
    rows = np.flatnonzero((kind.events > 0) & (kind.leave > kind.entry))
    if len(rows) > MOST_EVENTS:
        rows = np.sort(np.random.default_rng(seed).choice(rows, MOST_EVENTS, replace=False))
    if not is_weighed or len(rows) == 0:
        return rows, np.ones(len(rows))
    watched, left = _watched_and_left(kind, kind.leave[rows])
    kept = watched >= LEAST_WATCHED * watched.max()
    # rows watched / rows left of all, were none ever out of sight, is the share watched; each pair needs it twice
    return rows[kept], (left[kept] * watched.max() / watched[kept]) ** 2


def _watched_and_left(kind: Followed, ages: Floats) -> tuple[Floats, Floats]:
    """At each of `ages`: the rows at risk, and the share without an event before it (product limit, late entry)."""
    entry, leave, event_ages = (_Sums(at, kind.weights * kept) for at, kept in (
        (kind.entry, 1.0), (kind.leave, 1.0), (kind.leave, kind.events > 0),
    ))  # fmt: skip
    every = np.unique(kind.leave[kind.events > 0])
    at_risk = entry.before(every) - leave.before(every)
    came = event_ages.before(every, is_with=True) - event_ages.before(every)
    stays = np.cumprod(np.where(at_risk > 0, 1 - came / np.maximum(at_risk, 1e-300), 1.0))
    left = np.concatenate([[1.0], stays])[np.searchsorted(every, ages)]
    return entry.before(ages) - leave.before(ages), left


class _Sums:
    """Sums of weights up to an age."""

    def __init__(self, ages: Floats, weights: Floats) -> None:
        order = np.argsort(ages, kind="stable")
        self._ages, self._sums = ages[order], np.concatenate([[0.0], np.cumsum(weights[order])])

    def before(self, ages: Floats, is_with: bool = False) -> Floats:
        """The sum of those below each age, or up to it."""
        return self._sums[np.searchsorted(self._ages, ages, "right" if is_with else "left")]
