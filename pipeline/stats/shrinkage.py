"""Empirical-Bayes shrinkage: noisy ratios and shares of small groups pulled towards what the groups share."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize, special

from pipeline.stats.blas import one_blas_thread
from pipeline.stats.intervals import Floats, Interval


@dataclass(frozen=True)
class GammaPrior:
    """Ratios over groups ~ gamma(shape, rate): mean shape / rate, variance shape / rate squared."""

    shape: float
    rate: float


@dataclass(frozen=True)
class BetaPrior:
    """Shares over groups ~ beta(a, b): mean a / (a + b)."""

    a: float
    b: float


MOST_EQUAL = 1e6  # prior size that stands for "the groups do not differ"


def gamma_prior(counts: ArrayLike, expected: ArrayLike, avoids_zero: bool = False) -> GammaPrior:
    """Maximum likelihood of ratio_g ~ gamma(shape, rate) where counts_g ~ Poisson(expected_g x ratio_g).

    counts, expected  shape (G,); groups that expect nothing are left out
    avoids_zero       weighs the likelihood by the spread between groups: few groups that happen to look alike do not
                      prove that they are alike. On simulated firms of 3 to 24 crews 95 % intervals then held 88 to
                      99 % of the time, without it 16 to 95 %.
    Without over-dispersion, and without avoids_zero, the shape goes to a million: everybody gets the common ratio.
    Sources: Efron and Hastie (2016), Computer Age Statistical Inference, section 6.1; Chung et al. (2013),
    Psychometrika 78, 685-709 (avoids_zero).
    """
    y, e = np.asarray(counts, dtype=float), np.asarray(expected, dtype=float)
    y, e = y[e > 0], e[e > 0]
    if len(y) < 2 or y.sum() == 0:
        mean = (y.sum() + 0.5) / (e.sum() + 0.5)
        return GammaPrior(MOST_EQUAL * mean, MOST_EQUAL)

    def loss(parameters: Floats) -> float:
        shape, mean = np.exp(parameters)
        # the spread of ratios over their mean is shape ** -0.5
        return -gamma_poisson(y, e, shape, mean) + (0.5 * float(parameters[0]) if avoids_zero else 0.0)

    common = np.log(y.sum() / e.sum())
    starts = [(0.0, float(common)), (2.0, float(common)), (5.0, float(common))]
    bounds = [(-5.0, float(np.log(MOST_EQUAL))), (float(common) - 5, float(common) + 5)]
    shape, mean = np.exp(_least(loss, starts, bounds))
    return GammaPrior(float(shape), float(shape / mean))


def gamma_poisson(counts: Floats, expected: Floats, shape: float, mean: float) -> float:
    """Log likelihood of counts (G,) with ratios ~ gamma(shape, shape / mean) integrated out, up to a constant."""
    rate = shape / mean
    terms = special.gammaln(counts + shape) - special.gammaln(shape)
    terms += shape * np.log(rate / (rate + expected)) + counts * np.log(expected / (rate + expected))
    return float(terms.sum())


def beta_prior(successes: ArrayLike, trials: ArrayLike, avoids_zero: bool = False) -> BetaPrior:
    """Maximum likelihood of successes_g ~ beta-binomial(trials_g, a, b); groups without trials are left out.

    avoids_zero  as in gamma_prior: 95 % intervals then held 88 to 99 % of the time, without it 12 to 95 %
    Without over-dispersion, and without avoids_zero, a + b goes to a million: everybody gets the common share.
    Sources: Griffiths (1973), Biometrics 29, 637-648; Chung et al. (2013), Psychometrika 78, 685-709 (avoids_zero).
    """
    x, n = np.asarray(successes, dtype=float), np.asarray(trials, dtype=float)
    x, n = x[n > 0], n[n > 0]
    common = (x.sum() + 0.5) / (n.sum() + 1.0)
    if len(x) < 2 or x.sum() in (0, n.sum()):  # nothing shows how groups differ: Jeffreys' prior
        return BetaPrior(0.5, 0.5)

    def loss(parameters: Floats) -> float:
        mean, size = special.expit(parameters[0]), np.exp(parameters[1])
        a, b = mean * size, (1 - mean) * size
        fitted = float((special.betaln(x + a, n - x + b) - special.betaln(a, b)).sum())
        # at a given mean the spread of shares goes with (size + 1) ** -0.5
        return -fitted + (0.5 * float(np.log1p(size)) if avoids_zero else 0.0)

    bounds = [(-12.0, 12.0), (-1.0, float(np.log(MOST_EQUAL)))]
    starts = [(float(special.logit(common)), size) for size in (1.0, 3.0, 6.0)]
    best = _least(loss, starts, bounds)
    mean, size = float(special.expit(best[0])), float(np.exp(best[1]))
    return BetaPrior(mean * size, (1 - mean) * size)


def shrunken_shares(successes: ArrayLike, trials: ArrayLike, prior: BetaPrior, confidence: float = 0.95) -> Interval:
    """Posterior mean and interval of each group's share under a beta prior; shape (G,)."""
    a = np.asarray(successes, dtype=float) + prior.a
    b = np.asarray(trials, dtype=float) - np.asarray(successes, dtype=float) + prior.b
    tail = (1 - confidence) / 2
    return Interval(a / (a + b), special.betaincinv(a, b, tail), special.betaincinv(a, b, 1 - tail))


def _least(
    loss: Callable[[Floats], float], starts: list[tuple[float, float]], bounds: list[tuple[float, float]]
) -> Floats:
    """The two parameters with the least loss that any start leads to; bounds: of each, lower and upper."""
    with one_blas_thread():  # two parameters: handing them out to threads takes longer than the work
        fits = [
            optimize.minimize(loss, start, method="L-BFGS-B", bounds=bounds, options={"ftol": 1e-13})
            for start in starts
        ]
    return np.asarray(min(fits, key=lambda fit: fit.fun).x)
