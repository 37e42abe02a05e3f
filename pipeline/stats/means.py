"""The mean of a sample with its interval and test, from sums: Student's t."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from pipeline.stats.intervals import Floats


@dataclass(frozen=True)
class Means:
    """Means with bounds and two-sided p-values against a mean of 0; each an array of the input's shape."""

    estimate: Floats
    low: Floats
    high: Floats
    p_value: Floats


def means(counts: ArrayLike, totals: ArrayLike, squares: ArrayLike, confidence: float = 0.95) -> Means:
    """Means of samples, of which only sums are known; bounds and p-value are nan for fewer than two.

    counts   how many values, 1 or more
    totals   their sums
    squares  their sums of squared distances from the mean
    A sample without any spread has a mean without error: p-value 0, or 1 where the mean is 0.
    Source: Student (1908), Biometrika 6, 1-25.

    >>> found = means([5], [10.0], [10.0])
    >>> [round(float(part[0]), 3) for part in (found.estimate, found.low, found.high, found.p_value)]
    [2.0, 0.037, 3.963, 0.047]
    """
    n, total, spread = (np.asarray(part, dtype=float) for part in (counts, totals, squares))
    if (n < 1).any() or (spread < 0).any():
        raise ValueError("a mean needs one value or more, and squares of 0 or more")
    mean, freedom = total / n, n - 1
    with np.errstate(divide="ignore", invalid="ignore"):
        error = np.sqrt(spread / freedom / n)
        reach = special.stdtrit(freedom, (1 + confidence) / 2) * error
        p_value = 2 * special.stdtr(freedom, -np.abs(mean) / error)
    p_value = np.where(error == 0, np.where(mean == 0, 1.0, 0.0), p_value)
    return Means(mean, mean - reach, mean + reach, np.where(freedom > 0, p_value, np.nan))
