"""Exact and score intervals for counts, rates and shares; the usual one of a ratio."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

Floats = NDArray[np.float64]
Z95 = 1.959964


@dataclass(frozen=True)
class Interval:
    """An estimate with its bounds; each an array of the input's shape (0-d for a scalar)."""

    estimate: Floats
    low: Floats
    high: Floats


def poisson_interval(counts: ArrayLike, confidence: float = 0.95) -> Interval:
    """Exact interval of a Poisson mean from its count.

    counts  0 or more, any shape; fractions are taken (a count scaled by its over-dispersion)
    Returns the counts with low (0 where the count is 0) and high.
    Raises ValueError for a negative count or a confidence outside 0..1.
    Source: Garwood (1936), Biometrika 28, 437-442.

    >>> interval = poisson_interval(3)
    >>> round(float(interval.low), 4), round(float(interval.high), 4)
    (0.6187, 8.7673)
    """
    values = np.asarray(counts, dtype=float)
    _check(values, confidence)
    tail = (1 - confidence) / 2
    low = np.where(values > 0, special.gammaincinv(np.maximum(values, 1e-300), tail), 0.0)
    return Interval(values, low, special.gammaincinv(values + 1, 1 - tail))


def rate_interval(counts: ArrayLike, exposure: ArrayLike, confidence: float = 0.95) -> Interval:
    """Events per unit of exposure with the exact Poisson interval; nan where the exposure is 0.

    counts, exposure  the same shape, 0 or more
    Source: Garwood (1936), Biometrika 28, 437-442.
    """
    interval = poisson_interval(counts, confidence)
    time = np.asarray(exposure, dtype=float)
    if (time < 0).any():
        raise ValueError("exposure is negative; give time at risk of 0 or more")
    with np.errstate(divide="ignore", invalid="ignore"):
        scaled = [np.where(time > 0, part / time, np.nan) for part in (interval.estimate, interval.low, interval.high)]
    return Interval(*scaled)


def share_interval(successes: ArrayLike, trials: ArrayLike, confidence: float = 0.95) -> Interval:
    """A share with the Wilson score interval; nan where there are no trials.

    successes, trials  the same shape, 0 <= successes <= trials
    Source: Wilson (1927), J. Am. Stat. Assoc. 22, 209-212; recommended in Newcombe (1998), Stat. Med. 17, 857-872.

    >>> interval = share_interval(81, 263)
    >>> round(float(interval.low), 4), round(float(interval.high), 4)
    (0.2553, 0.3662)
    """
    x, n = np.asarray(successes, dtype=float), np.asarray(trials, dtype=float)
    _check(x, confidence)
    if (x > n).any():
        raise ValueError("more successes than trials")
    z = special.ndtri(0.5 + confidence / 2)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = x / n
        centre = (share + z**2 / (2 * n)) / (1 + z**2 / n)
        half = z / (1 + z**2 / n) * np.sqrt(share * (1 - share) / n + z**2 / (4 * n**2))
    low = np.where(x == 0, 0.0, np.maximum(centre - half, 0.0))
    high = np.where(x == n, 1.0, np.minimum(centre + half, 1.0))
    empty = n == 0
    return Interval(np.where(empty, np.nan, share), np.where(empty, np.nan, low), np.where(empty, np.nan, high))


def ratio_interval(log_ratio: float, error: float, contrast: float = 1.0) -> tuple[float, float, float]:
    """A ratio and the ends of its 95 % interval, low first, over a contrast of either sign.

    log_ratio, error  the logarithm of the ratio for one unit, and its standard error

    >>> [round(end, 3) for end in ratio_interval(0.5, 0.1, -2.0)]
    [0.368, 0.249, 0.544]
    """
    middle, width = log_ratio * contrast, Z95 * error * abs(contrast)
    ratio, low, high = np.exp([middle, middle - width, middle + width])
    return float(ratio), float(low), float(high)


def log_error(low: ArrayLike, high: ArrayLike) -> Floats:
    """The standard error of a ratio's logarithm, from the ends of its 95 % interval: `ratio_interval` backwards.

    >>> round(float(log_error(*ratio_interval(0.5, 0.1)[1:])), 3)
    0.1
    """
    return np.asarray(np.log(np.asarray(high) / np.asarray(low)) / (2 * Z95))


def _check(values: Floats, confidence: float) -> None:
    if not 0 < confidence < 1:
        raise ValueError(f"confidence {confidence} is not between 0 and 1")
    if (values < 0).any():
        raise ValueError(f"a count is negative: {values.min()}")
