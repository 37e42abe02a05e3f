"""Whether a second score tells of later events what a first one does not.

Sources: Chong and Hendry (1986), Rev. Econ. Stud. 53, 671-690 (one forecast encompasses another where the other adds
nothing to it); Harrell (2015), Regression Modeling Strategies, section 9.8.4 (the share of new information).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from pipeline.stats.intervals import Floats

MOST_STEPS = 50
RIDGE = 1e-9  # of the information: a second score that never varies then adds nothing instead of failing


@dataclass(frozen=True)
class Twice:
    """One kind of event on n rows, foretold twice.

    scores   (n, 2) predicted log ratios: the first, and what the second adds to it
    exposure (n,) >= 0;  events (n,);  units (n,) number of what the row is of, the same in all kinds;  groups (n,)
    """

    scores: Floats
    exposure: Floats
    events: Floats
    units: NDArray[np.int64]
    groups: NDArray[np.int64]


@dataclass(frozen=True)
class Added:
    """slope: log ratio for one more of what was added, beside the first score;  error;  p_value (both sides).

    new_share  part of what both together explain of the events that the first alone does not, 0 to 1
    """

    slope: float
    error: float
    p_value: float
    new_share: float


def added(kinds: Sequence[Twice]) -> Added | None:
    """Fits events ~ Poisson(exposure exp(level of the kind + both slopes x scores)); None where there is no event.

    The error is the largest of the model's own, that between units and that between groups: a false alarm costs more
    here than a missed one.
    """
    kinds = [kind for kind in kinds if kind.events.sum() > 0]
    if not kinds:
        return None
    slopes, covariance = _fitted(kinds)
    only_first, _ = _fitted([_without_second(kind) for kind in kinds])
    pulls = [_residuals(kind, slopes) @ covariance[:, 1] for kind in kinds]
    own = float(covariance[1, 1])
    clustered = [_clustered([kind.units for kind in kinds], pulls), _clustered([kind.groups for kind in kinds], pulls)]
    error = float(np.sqrt(np.nanmax([own, *clustered])))
    gained = [2 * (_explained(kinds, at) - _explained(kinds, np.zeros(2))) for at in (only_first, slopes)]
    share = 1 - max(gained[0], 0.0) / gained[1] if gained[1] > 0 else 0.0
    slope = float(slopes[1])
    return Added(slope, error, float(2 * special.ndtr(-abs(slope) / error)), float(np.clip(share, 0.0, 1.0)))


def _without_second(kind: Twice) -> Twice:
    scores = np.column_stack([kind.scores[:, 0], np.zeros(len(kind.events))])
    return Twice(scores, kind.exposure, kind.events, kind.units, kind.groups)


def _fitted(kinds: Sequence[Twice]) -> tuple[Floats, Floats]:
    """Slopes (2,) and their covariance by Newton steps, levels profiled out."""
    slopes, total = np.array([1.0, 0.0]), np.eye(2)
    for _ in range(MOST_STEPS):
        score, information = np.zeros(2), np.zeros((2, 2))
        for kind in kinds:
            mean, centred = _expected(kind, slopes)
            score += centred.T @ (kind.events - mean)
            information += (centred * mean[:, None]).T @ centred
        total = information + RIDGE * (1 + np.trace(information)) * np.eye(2)
        step = np.clip(np.linalg.solve(total, score), -0.5, 0.5)
        slopes = slopes + step
        if np.abs(step).max() < 1e-8:
            break
    return slopes, np.asarray(np.linalg.inv(total))


def _expected(kind: Twice, slopes: Floats) -> tuple[Floats, Floats]:
    """Events expected of each row with the kind's level at its best, and scores less their mean over these."""
    log_ratio = kind.scores @ slopes
    weight = kind.exposure * np.exp(log_ratio - log_ratio.max())
    mean = weight * (kind.events.sum() / max(weight.sum(), 1e-300))
    return mean, kind.scores - (mean @ kind.scores) / max(mean.sum(), 1e-300)


def _residuals(kind: Twice, slopes: Floats) -> Floats:
    mean, centred = _expected(kind, slopes)
    return np.asarray(centred * (kind.events - mean)[:, None])


def _clustered(numbers: Sequence[NDArray[np.int64]], pulls: Sequence[Floats]) -> float:
    """Variance of the slope when rows of one number are alike; nan with one number."""
    every, at = np.unique(np.concatenate(numbers), return_inverse=True)
    if len(every) < 2:
        return float("nan")
    sums = np.bincount(at, np.concatenate(pulls))
    return float(sums @ sums) * len(every) / (len(every) - 1)


def _explained(kinds: Sequence[Twice], slopes: Floats) -> float:
    """Log likelihood with levels at their best, up to what no slope changes."""
    total = 0.0
    for kind in kinds:
        log_ratio = kind.scores @ slopes
        top = log_ratio.max()
        level = top + np.log(max(float(kind.exposure @ np.exp(log_ratio - top)), 1e-300))
        total += float(kind.events @ log_ratio) - float(kind.events.sum()) * level
    return total
