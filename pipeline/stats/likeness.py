"""What is not recorded of one row, drawn from rows where it is: those more often whose value fits what else is known.

Every variable is seen as a normal score; of one that is missing, the scores of others that go with it, and the mean
score of the row's group, foretell a mean and a variance. Rows that have it are drawn by how much likelier their value
is given that than among all rows: what sets the rows to draw from apart from all rows (an event that they all had)
stays in what is drawn, as long as it acts on each variable by itself.

Sources: Little and Rubin (2019), Statistical Analysis with Missing Data, 3rd ed., chapter 4 (hot deck, conditional
draws); Robert and Casella (2004), Monte Carlo Statistical Methods, section 14.3 (importance resampling).
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import special

from pipeline.stats.intervals import Floats

Ints = NDArray[np.int64]

LEAST_ROWS = 100  # with both recorded, to tell how two variables go together
MOST_USED, LEAST_CORRELATION = 4, 0.15  # variables that foretell another
GROUP_ROWS = 8.0  # a group's mean counts as far as its rows outnumber these
HELD = 0.05  # towards variables that do not go together at all
LEAST_LEFT = 0.05  # variance that is never foretold
MOST_OFTEN = 1000.0  # times the middle weight
ROWS_AT_ONCE = 2000


@dataclass(frozen=True)
class Foretold:
    """(n,) each: normal score (0 where not recorded), and the mean and variance that else is known foretells."""

    scores: Floats
    means: Floats
    variances: Floats


@dataclass(frozen=True)
class Likeness:
    """Rows to learn from: values (n, D), nan where not recorded; groups (n,) numbered 0 to n_groups - 1."""

    values: Floats
    groups: Ints
    n_groups: int

    def foretell(self, values: Floats, groups: Ints, column: int) -> Foretold:
        """One variable of the rows given (m, D), which need not be among those learned from."""
        used = self._used[column]
        known = self.scores_of(values[:, [column, *used]], [column, *used])
        beside = np.column_stack([np.nan_to_num(known[:, 1:]), self._group_means[groups, column]])
        is_seen = np.column_stack([np.isfinite(known[:, 1:]), np.ones(len(groups), dtype=bool)])
        means, variances = np.zeros(len(groups)), np.ones(len(groups))
        among, with_it = self._covariance(column)
        patterns, place = np.unique(is_seen, axis=0, return_inverse=True)
        for number, pattern in enumerate(patterns):
            rows, at = place.ravel() == number, np.flatnonzero(pattern)
            slopes = np.linalg.solve(among[np.ix_(at, at)], with_it[at])
            means[rows] = beside[rows][:, at] @ slopes
            variances[rows] = np.clip(1 - slopes @ with_it[at], LEAST_LEFT, 1.0)
        return Foretold(np.nan_to_num(known[:, 0]), means, variances)

    def scores_of(self, values: Floats, columns: list[int]) -> Floats:
        """(m, k) normal scores of values (m, k) of these columns among the rows learned from; nan where missing."""
        found = np.full(values.shape, np.nan)
        for k, column in enumerate(columns):
            ordered, is_seen = self._ordered[column], np.isfinite(values[:, k])
            if len(ordered):
                ends = [np.searchsorted(ordered, values[is_seen, k], side=side) for side in ("left", "right")]
                share = (ends[0] + ends[1]) / (2 * len(ordered))
                found[is_seen, k] = special.ndtri(np.clip(share, 0.5 / len(ordered), 1 - 0.5 / len(ordered)))
        return found

    @cached_property
    def _ordered(self) -> list[Floats]:
        return [np.sort(column[np.isfinite(column)]) for column in self.values.T]

    @cached_property
    def _scores(self) -> tuple[Floats, NDArray[np.bool_]]:
        scores = self.scores_of(self.values, list(range(self.values.shape[1])))
        return np.nan_to_num(scores), np.isfinite(scores)

    @cached_property
    def _group_means(self) -> Floats:
        """(G, D) drawn towards 0 where a group has few rows."""
        scores, is_seen = self._scores
        sums, counts = (
            np.column_stack([np.bincount(self.groups, column, self.n_groups) for column in part.T])
            for part in (scores, is_seen)
        )
        return np.asarray(sums / (counts + GROUP_ROWS))

    @cached_property
    def _together(self) -> Floats:
        """(D, D) mean products of scores where both are recorded; 0 where too few rows have both."""
        scores, is_seen = self._scores
        counts = is_seen.T.astype(float) @ is_seen
        return np.where(counts >= LEAST_ROWS, scores.T @ scores / np.maximum(counts, 1.0), 0.0)

    @cached_property
    def _used(self) -> list[list[int]]:
        """The variables that foretell each, those first that go with it and are there where it is not."""
        _, is_seen = self._scores
        missing = ~is_seen
        there = (missing.T.astype(float) @ is_seen) / np.maximum(missing.sum(axis=0), 1)[:, None]
        worth = np.where(np.abs(self._together) >= LEAST_CORRELATION, self._together**2 * there, 0.0)
        np.fill_diagonal(worth, 0.0)
        return [[int(j) for j in np.argsort(-row, kind="stable")[:MOST_USED] if row[j] > 0] for row in worth]

    def _covariance(self, column: int) -> tuple[Floats, Floats]:
        """(k + 1, k + 1) of what foretells a column, the group's mean last, and (k + 1,) of each with it."""
        scores, is_seen = self._scores
        used = self._used[column]
        group = self._group_means[self.groups, column]
        rows = [*used, column]
        beside = (scores[:, rows] * group[:, None]).sum(axis=0) / np.maximum(is_seen[:, rows].sum(axis=0), 1)
        among = np.empty((len(used) + 1, len(used) + 1))
        among[:-1, :-1] = (1 - HELD) * self._together[np.ix_(used, used)] + HELD * np.eye(len(used))
        among[-1, :-1] = among[:-1, -1] = beside[:-1]
        among[-1, -1] = float(group @ group) / max(len(group), 1) + 1e-6
        return among, np.append(self._together[used, column], beside[-1])


def drawn_rows(foretold: Foretold, missing: Ints, having: Ints, draws: int, rng: np.random.Generator) -> Ints:
    """(draws, len(missing)) rows out of `having`, one for each row that misses the variable, in each draw."""
    found = np.empty((draws, len(missing)), dtype=np.int64)
    scores = foretold.scores[having]
    for start in range(0, len(missing), ROWS_AT_ONCE):
        part = slice(start, start + ROWS_AT_ONCE)
        means, variances = (own[missing[part], None] for own in (foretold.means, foretold.variances))
        logs = 0.5 * (scores**2 - (scores - means) ** 2 / variances)
        weights = np.exp(np.clip(logs - np.median(logs, axis=1, keepdims=True), -50.0, np.log(MOST_OFTEN)))
        sums = np.cumsum(weights, axis=1)
        wanted = rng.random((len(weights), draws)) * sums[:, -1:]
        place = [np.searchsorted(own, asked) for own, asked in zip(sums, wanted, strict=True)]
        found[:, part] = having[np.minimum(np.array(place), len(having) - 1).T]
    return found
