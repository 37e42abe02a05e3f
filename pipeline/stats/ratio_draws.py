"""Ratios of groups with everything that is not known of them: draws, from which intervals and places follow."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from pipeline.stats.intervals import Floats
from pipeline.stats.shrinkage import gamma_poisson, gamma_prior

N_DRAWS = 4000
N_SPREADS, N_MEANS = 100, 25
USUAL_SPREAD = 1.0  # half-normal prior of the spread between groups: ratios of 7 and more are rare


@dataclass(frozen=True)
class GroupCounts:
    """counts, expected (G,), expected above 0; log_covariance (G, G) of the logarithm of expected.

    dispersion  variance of a count over its mean, 1 or more
    """

    counts: Floats
    expected: Floats
    log_covariance: Floats
    dispersion: float = 1.0


def ratio_draws(groups: GroupCounts, rng: np.random.Generator, n_draws: int = N_DRAWS) -> Floats:
    """(R, G) draws of each group's ratio, pulled towards what the groups share as far as its counts demand.

    counts ~ Poisson(expected x ratio), ratio ~ gamma of some mean and spread. Mean and spread are not put at their
    best values but drawn with all that the groups leave open, on a grid around them, as is the error of expected:
    intervals that take them as known are too short where groups are few.
    Over-dispersion divides count and expectation, which keeps the ratio and widens it.
    Sources: Morris (1983), J. Am. Stat. Assoc. 78, 47-65, and Laird and Louis (1987), J. Am. Stat. Assoc. 82, 739-750
    (what is left out by taking the prior as known); Gelman (2006), Bayesian Analysis 1, 515-534 (prior of a spread).
    """
    counts, expected = groups.counts / groups.dispersion, groups.expected / groups.dispersion
    shape, mean, weight = _prior_grid(counts, expected)
    chosen = rng.choice(len(weight), size=n_draws, p=weight)
    error = rng.standard_normal((n_draws, len(counts))) @ _root(groups.log_covariance).T
    rate = (shape / mean)[chosen, None] + expected * np.exp(error)
    return np.asarray(rng.standard_gamma(shape[chosen, None] + counts) / rate)


def place_interval(draws: Floats, confidence: float = 0.95) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(G,) lowest and highest place of each group, 1 for the smallest ratio, that the draws (R, G) leave open.

    Source: Goldstein and Spiegelhalter (1996), J. R. Stat. Soc. A 159, 385-443.
    """
    places = draws.argsort(axis=1, kind="stable").argsort(axis=1) + 1
    tail = (1 - confidence) / 2
    low, high = np.quantile(places, [tail, 1 - tail], axis=0, method="inverted_cdf")
    return low.astype(np.int64), high.astype(np.int64)


def _prior_grid(counts: Floats, expected: Floats) -> tuple[Floats, Floats, Floats]:
    """(K,) shape, mean and posterior weight of priors for the ratio, on a grid around the best one."""
    best = gamma_prior(counts, expected, avoids_zero=True)
    groups = np.sqrt(2 * len(counts))
    steps = np.linspace(-min(5.0, 20 / groups), min(3.0, 10 / groups), N_SPREADS)
    spread = best.shape**-0.5 * np.exp(steps)
    error = np.sqrt(1 / max(counts.sum(), 1.0) + spread**2 / len(counts))
    log_mean = np.log(best.shape / best.rate) + error[:, None] * np.linspace(-4, 4, N_MEANS)
    shape = np.repeat(spread**-2, N_MEANS)
    mean = np.exp(log_mean.ravel())
    fitted = np.array([gamma_poisson(counts, expected, *pair) for pair in zip(shape, mean, strict=True)])
    # flat in the log mean and, but for its half-normal prior, in the spread, whose steps grow with it
    log_prior = np.log(spread) + np.log(error) - (spread / USUAL_SPREAD) ** 2 / 2
    return shape, mean, special.softmax(fitted + np.repeat(log_prior, N_MEANS))


def _root(covariance: Floats) -> Floats:
    """(G, G) a square root of a covariance that may be singular."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))
