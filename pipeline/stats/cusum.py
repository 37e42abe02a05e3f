"""Cumulative sums: of distances from a target, and of log likelihood ratios of counts against what was expected.

Sources: Page (1954), Biometrika 41, 100-115; Steiner et al. (2000), Biostatistics 1, 441-452 (risk-adjusted).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pipeline.stats.intervals import Floats
from pipeline.stats.shrinkage import GammaPrior


@dataclass(frozen=True)
class TabularCusum:
    """Sums above and below the target, each 0 or more; shape (n,)."""

    above: Floats
    below: Floats


def tabular_cusum(values: ArrayLike, target: float, allowance: float) -> TabularCusum:
    """Sums of what lies more than `allowance` beyond the target, held at 0."""
    x = np.asarray(values, dtype=float)
    above, below = np.zeros(len(x)), np.zeros(len(x))
    high = low = 0.0
    for i, value in enumerate(x):
        high = max(0.0, high + value - target - allowance)
        low = max(0.0, low + target - allowance - value)
        above[i], below[i] = high, low
    return TabularCusum(above, below)


def ratio_scores(counts: Floats, expected: Floats, ratio: float, prior: GammaPrior, over_dispersion: float) -> Floats:
    """Log likelihood ratio of each count: `ratio` times as many as the group's own past makes likely, or as many.

    counts, expected  (G, M); expected 0: no point, nan
    prior             of a group's count over what is expected of it; its past sharpens it, so that a group that was
                      always above the others does not alarm for that
    over_dispersion   variance of a count over its mean, 1 or more: both sides are divided by it
    Adapted from Steiner et al. (2000): Bernoulli outcomes become counts with a negative binomial prediction. The
    exponential of a score has mean 1 while nothing changes, so a sum of them alarms once in exp(limit) points at most
    (Lorden 1971, Ann. Math. Stat. 42, 1897-1908).
    """
    y, e = counts / over_dispersion, expected / over_dispersion
    shape = prior.shape + np.cumsum(y, axis=1) - y
    rate = prior.rate + np.cumsum(e, axis=1) - e
    more = np.log((rate + ratio * e) / (rate + e))
    return np.where(e > 0, y * (np.log(ratio) - more) - shape * more, np.nan)
