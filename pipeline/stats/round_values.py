"""Round values to show a curve at: as fine as there is room for, and no finer than things were read."""

import math

import numpy as np

from pipeline.stats.intervals import Floats

MOST_STEPS = 24
ON_THE_SCALE = 0.8  # of the values that differ from the most frequent one


def round_step(low: float, high: float, scale: float = 0.0, most: int = MOST_STEPS) -> float:
    """The smallest of 1, 2, 5 times a power of ten with at most so many steps in the span, a multiple of `scale`.

    >>> round_step(0.0, 4.5), round_step(0.0, 4.5, 0.5)
    (0.2, 0.5)
    """
    least = max((high - low) / most, scale)
    if not high > low:
        raise ValueError("a span from a lower to a higher value is needed")
    power = math.floor(math.log10(least))
    steps = [times * 10.0**exponent for exponent in (power, power + 1, power + 2) for times in (1, 2, 5)]
    fits = [step for step in steps if step >= least * (1 - 1e-9) and (not scale or _is_multiple(step, scale))]
    return round(fits[0], 12)


def scale_of(values: Floats) -> float:
    """The coarsest of 1, 2, 5 times a power of ten that nearly all values are multiples of; 0: none coarse enough.

    Values equal to the most frequent one do not count: zero is a multiple of everything.
    """
    distinct, counts = np.unique(values, return_counts=True)
    others = values[values != distinct[np.argmax(counts)]]
    if not len(others):
        return 0.0
    span = float(distinct[-1] - distinct[0])
    top = math.floor(math.log10(span))
    steps = [times * 10.0**exponent for exponent in (top, top - 1, top - 2) for times in (5, 2, 1)]
    on = [step for step in steps if step < span and _is_multiple(others, step).mean() >= ON_THE_SCALE]
    return round(on[0], 12) if on else 0.0


def nearest_step(values: Floats, step: float) -> Floats:
    """(n,) how many steps each value is from zero, halves upwards, so that every step takes as many readings."""
    return np.floor(values / step + 0.5 + 1e-6)


def _is_multiple(values: "Floats | float", step: float) -> "np.ndarray":
    times = np.asarray(values) / step
    return np.abs(times - np.round(times)) < 1e-3
