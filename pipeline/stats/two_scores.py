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
from pipeline.stats.score_slopes import Foretold, fitted_slopes, ridged


@dataclass(frozen=True)
class Twice(Foretold):
    """One kind of event on n rows, foretold twice: scores (n, 2) the first, and what the second adds to it.

    units (n,) number of what the row is of, the same in all kinds;  groups (n,)
    """

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
    slopes, information = fitted_slopes(kinds)
    covariance = np.linalg.inv(ridged(information))
    only_first, _ = fitted_slopes([Foretold(kind.scores[:, :1], kind.exposure, kind.events) for kind in kinds])
    pulls = [kind.pulls(slopes) @ covariance[:, 1] for kind in kinds]
    own = float(covariance[1, 1])
    clustered = [_clustered([kind.units for kind in kinds], pulls), _clustered([kind.groups for kind in kinds], pulls)]
    error = float(np.sqrt(np.nanmax([own, *clustered])))
    nothing, first, both = (_explained(kinds, at) for at in (np.zeros(2), np.append(only_first, 0.0), slopes))
    gained = first - nothing, both - nothing
    share = 1 - max(gained[0], 0.0) / gained[1] if gained[1] > 0 else 0.0
    slope = float(slopes[1])
    return Added(slope, error, float(2 * special.ndtr(-abs(slope) / error)), float(np.clip(share, 0.0, 1.0)))


def _clustered(numbers: Sequence[NDArray[np.int64]], pulls: Sequence[Floats]) -> float:
    """Variance of the slope when rows of one number are alike; nan with one number."""
    every, at = np.unique(np.concatenate(numbers), return_inverse=True)
    if len(every) < 2:
        return float("nan")
    sums = np.bincount(at, np.concatenate(pulls))
    return float(sums @ sums) * len(every) / (len(every) - 1)


def _explained(kinds: Sequence[Twice], slopes: Floats) -> float:
    return sum(kind.log_likelihood(slopes) for kind in kinds)
