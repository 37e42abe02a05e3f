"""Average run lengths: after how many points a chart alarms, on average, while nothing changes or after a shift.

Sources: Brook and Evans (1972), Biometrika 59, 539-549 (Markov chain); Page (1954), Biometrika 41, 100-115 and Crowder
(1987), Technometrics 29, 401-407 (integral equations).
"""

from collections.abc import Callable

import numpy as np
from scipy import optimize, special, stats

from pipeline.stats.intervals import Floats

NODES = 120
STATES = 200
LONGEST = 1e11


def shewhart_run_length(width: float, shift: float = 0.0, is_two_sided: bool = True) -> float:
    """Points until a value lies more than `width` standard deviations out, for a mean moved by `shift` of them."""
    out = special.ndtr(shift - width) + (special.ndtr(-shift - width) if is_two_sided else 0.0)
    return float(1 / out)


def cusum_run_length(allowance: float, limit: float, shift: float = 0.0) -> float:
    """Points until a one-sided cumulative sum of standard normal values exceeds `limit`, begun at 0."""
    return _held_at_zero(1.0, 1.0, limit, shift - allowance)


def two_sided_cusum_run_length(allowance: float, limit: float, shift: float = 0.0) -> float:
    """The same for a sum upwards and one downwards together."""
    sides = (cusum_run_length(allowance, limit, side * shift) for side in (1, -1))
    return 1 / sum(1 / side for side in sides)


def ewma_run_length(weight: float, limit: float, shift: float = 0.0) -> float:
    """Points until z = max(0, (1 - weight) z + weight x) exceeds `limit`, x standard normal plus shift, begun at 0."""
    return _held_at_zero(1 - weight, weight, limit, shift)


def _held_at_zero(keep: float, take: float, limit: float, drift: float) -> float:
    """Solves L(u) = 1 + L(0) P(next <= 0) + integral of L over (0, limit), the next value being keep u + take x."""
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    z, w = limit * (nodes + 1) / 2, limit * weights / 2
    starts = np.concatenate([[0.0], z])
    centre = keep * starts + take * drift
    falls = special.ndtr(-centre / take)
    density = np.exp(-(((z[None, :] - centre[:, None]) / take) ** 2) / 2) / np.sqrt(2 * np.pi) / take
    system = np.eye(NODES + 1) - np.column_stack([falls, density * w])
    return float(np.linalg.solve(system, np.ones(NODES + 1))[0])


def count_run_length(expected: float, ratio: float, limit: float, over_dispersion: float = 1.0) -> float:
    """Points until a cumulative sum of log likelihood ratios of counts exceeds `limit`, by a Markov chain.

    expected  mean of each count; `ratio` times as many is what the sum looks for
    Counts are Poisson, or negative binomial where variance over mean exceeds 1; both sides are divided by it.
    """
    counts, chances = _likely_counts(expected, over_dispersion)
    scores = (counts * np.log(ratio) - expected * (ratio - 1)) / over_dispersion
    width = limit / STATES
    there = np.arange(STATES + 1)[:, None] + scores[None, :] / width
    stays, below = there <= STATES, np.floor(there)
    chain = np.zeros((STATES + 1, STATES + 2))
    rows = np.broadcast_to(np.arange(STATES + 1)[:, None], there.shape)[stays]
    # what falls between two states is shared by both, so that sums keep their mean
    for state, share in ((below, 1 - (there - below)), (below + 1, there - below)):
        columns = np.maximum(state, 0).astype(int)[stays]
        np.add.at(chain, (rows, columns), (share * chances)[stays])
    return float(np.linalg.solve(np.eye(STATES + 1) - chain[:, :-1], np.ones(STATES + 1))[0])


def _likely_counts(expected: float, over_dispersion: float) -> tuple[Floats, Floats]:
    spread = np.sqrt(expected * over_dispersion)
    low, high = max(0, int(expected - 12 * spread)), int(expected + 14 * spread + 14)
    counts = np.arange(low, high + 1)
    if over_dispersion > 1.001:
        chances = stats.nbinom.pmf(counts, expected / (over_dispersion - 1), 1 / over_dispersion)
    else:
        chances = stats.poisson.pmf(counts, expected)
    return counts.astype(float), chances


def limit_for(run_length_of: Callable[[float], float], target: float, low: float, high: float) -> float:
    """The limit between `low` and `high` at which the run length is `target`; the nearer end where none is."""

    def miss(limit: float) -> float:
        length = run_length_of(limit)
        # beyond what floating point resolves the equations give nonsense: such limits are never reached
        return float(np.log(length if 0 < length < LONGEST else LONGEST) - np.log(target))

    if miss(low) >= 0:
        return low
    return high if miss(high) <= 0 else float(optimize.brentq(miss, low, high, xtol=1e-4))
