"""What some number of callbacks costs together, from the costs of those whose cost is known."""

import numpy as np
from numpy.typing import NDArray

from pipeline.stats.intervals import Floats

MOST_VALUES = 1000


def draw_costs(known: Floats, counts: NDArray[np.int64], rng: np.random.Generator) -> Floats:
    """Total cost of counts (B, H) callbacks, one bootstrap of the known costs for each of the B draws.

    known  (n,) costs of single callbacks, 0 or more; at least one
    More than a thousand costs are taken as the means of a thousand groups of neighbours. The sum of a count of costs is
    drawn from the gamma distribution with its mean and variance, which for one cost already has the right two moments.
    """
    values, weights = _grouped(np.sort(np.asarray(known, dtype=float)))
    taken = rng.multinomial(round(weights.sum()), weights / weights.sum(), size=len(counts)) / weights.sum()
    mean = taken @ values
    variance = np.maximum(taken @ values**2 - mean**2, 0.0)
    flat = np.broadcast_to((counts * mean[:, None]), counts.shape)
    scale = np.where(mean > 0, variance / np.where(mean > 0, mean, 1.0), 0.0)[:, None]
    is_spread = (flat > 0) & (scale > 1e-9)
    shape = np.where(is_spread, flat / np.where(scale > 1e-9, scale, 1.0), 1.0)
    return np.where(is_spread, rng.gamma(shape) * scale, flat)


def _grouped(values: Floats) -> tuple[Floats, Floats]:
    """At most a thousand values and how many each stands for."""
    parts = np.array_split(values, min(len(values), MOST_VALUES))
    return np.array([part.mean() for part in parts]), np.array([float(len(part)) for part in parts])
