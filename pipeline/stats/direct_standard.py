"""Rates on a standard mix: counts of strata weighted as the standard has them."""

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from pipeline.stats.intervals import Interval


def standardised_rate(
    counts: ArrayLike, exposure: ArrayLike, standard: ArrayLike, dispersion: float = 1.0, confidence: float = 0.95
) -> Interval:
    """The rate that a group would have on the standard's mix of strata, with its gamma interval.

    counts, exposure, standard  (S,) of one group: events, exposure above 0, and the standard's exposure
    dispersion                  variance of a count over its mean, 1 or more
    Source: Fay and Feuer (1997), Stat. Med. 16, 791-801.
    """
    y, weight = np.asarray(counts, dtype=float), np.asarray(standard, dtype=float) / np.asarray(exposure, dtype=float)
    weight = weight / np.sum(standard)
    rate, variance, most = weight @ y, dispersion * (weight**2 @ y), float(weight.max()) * dispersion
    tail = (1 - confidence) / 2
    low = special.gammaincinv(rate**2 / variance, tail) * variance / rate if rate > 0 else 0.0
    above, spread = rate + most, variance + most**2
    high = special.gammaincinv(above**2 / spread, 1 - tail) * spread / above
    return Interval(np.asarray(rate), np.asarray(low), np.asarray(high))
