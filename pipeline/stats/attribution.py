"""What share of events would be spared if an exposure met its limit."""

import numpy as np

from pipeline.stats.intervals import Floats


def share_draws(
    excess: Floats, expected: Floats, groups: np.ndarray, coefficient: Floats, rng: np.random.Generator
) -> Floats:
    """Draws of the attributable share under a log-linear hazard, by model-based standardisation.

    excess       (n,) how far each door is beyond its limit, signed so that the effect acts on it; 0 within
    expected     (n,) events expected of each door as recorded
    groups       (n,) group numbers 0..G-1
    coefficient  (R,) draws of the log hazard ratio per unit of excess
    Returns (R,): 1 - expected events at the limit / as recorded, each draw on its own bootstrap sample: of groups with
    20 or more of them, else of doors.
    Source: Greenland and Drescher (1993), Biometrics 49, 865-872 (model-based attributable fraction).
    """
    mass, square, middle = _binned(excess, expected, groups)
    spared = 1 - np.exp(-np.clip(coefficient[:, None] * middle[None, :], -50, 50))  # (R, B)
    n_groups = len(mass)
    if n_groups >= 20:
        weights = rng.multinomial(n_groups, np.full(n_groups, 1 / n_groups), size=len(coefficient))
        return ((spared @ mass.T) * weights).sum(axis=1) / (weights @ mass.sum(axis=1))
    total, noise = mass.sum(axis=0), np.sqrt(square.sum(axis=0))
    sampled = np.maximum(total + noise * rng.standard_normal((len(coefficient), len(total))), 0.0)
    return (spared * sampled).sum(axis=1) / sampled.sum(axis=1)


def attributable_share(excess: Floats, expected: Floats, coefficient: float) -> float:
    """The point estimate that `share_draws` draws around."""
    return float((expected * (1 - np.exp(-coefficient * excess))).sum() / expected.sum())


def _binned(excess: Floats, expected: Floats, groups: np.ndarray, n_bins: int = 100) -> tuple[Floats, Floats, Floats]:
    """Doors gathered in bins of equal excess: (G, B) mass, (G, B) squared mass, (B,) mass-weighted middle.

    Bin 0 holds the doors within their limit. A hundred bins move the share by less than its fourth digit.
    """
    beyond = excess != 0
    edges = np.unique(np.quantile(excess[beyond], np.linspace(0, 1, n_bins + 1))) if beyond.any() else np.zeros(1)
    index = np.where(beyond, np.clip(np.searchsorted(edges, excess, side="right"), 1, len(edges)), 0)
    shape = (int(groups.max()) + 1, len(edges) + 1)
    flat = np.ravel_multi_index((groups, index), shape)
    size = shape[0] * shape[1]
    mass = np.bincount(flat, expected, size).astype(float).reshape(shape)
    square = np.bincount(flat, expected**2, size).astype(float).reshape(shape)
    total = mass.sum(axis=0)
    sums = np.bincount(index, expected * excess, shape[1])
    return mass, square, np.divide(sums, total, out=np.zeros(shape[1]), where=total > 0)
