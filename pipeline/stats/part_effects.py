"""Whether one effect of a fitted hazard model is the same in every part of the rows: in every group, or every level.

Each part's pull on the effect is the score of an effect of its own, with what the model fitted beside it taken up; part
intercepts are free. Many parts that are a sample of their kind are asked for the spread of their effects by the sum of
squared scores; a few named parts by the score chi-square of their differences. Both are held against a gamma law with
the three first moments that sums over few events have, so that few events a part and lopsided covariates do not fool
them.

Sources: Commenges and Andersen (1995), Lifetime Data Anal. 1, 145-156 (score test of homogeneity for survival data);
DerSimonian and Laird (1986), Control. Clin. Trials 7, 177-188 (spread from the moment of the statistic).
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, sparse, special

from pipeline.stats.hazards import HazardData, HazardFit, Prior, fit_hazard
from pipeline.stats.intervals import Floats

MOST_SPREAD = 1e3  # in units of the spread that the scores could show at all
UPPER = 0.95


@dataclass(frozen=True)
class Parts:
    """How P parts of the rows pull one column of a fit.

    scores       (P,) pull of each part away from the common effect
    covariance   (P, P) of the scores while the effect is common, what the other parameters take up taken out
    cumulants    (P, 3) third, fourth and sixth of each score: more than its variance says
    information  (P,) of each part alone
    """

    scores: Floats
    covariance: Floats
    cumulants: Floats
    information: Floats


@dataclass(frozen=True)
class Spread:
    """How much the parts' effects differ. sd, sd_high: spread and its upper 95 % limit, per unit of the column.

    p_value  of no spread
    sd_seen  the smallest spread that on average would be found at p 0.05; no upper limit is below it
    """

    sd: float
    sd_high: float
    sd_seen: float
    p_value: float


def parts_of(data: HazardData, fit: HazardFit, column: int, parts: NDArray[np.int64]) -> Parts:
    """The pulls of the parts on a column of `fit`'s design; every part number 0..P-1 has rows."""
    expected, events = fit.expected, data.events @ np.ones(data.events.shape[1])
    x, n_parts = data.design[:, column], int(parts.max()) + 1
    means = np.bincount(parts, expected * x, n_parts) / np.maximum(np.bincount(parts, expected, n_parts), 1e-300)
    along = x - means[parts]
    powers = [np.bincount(parts, expected * along**power, n_parts).astype(float) for power in (2, 3, 4, 6)]
    return Parts(
        scores=np.bincount(parts, along * (events - expected), n_parts).astype(float),
        covariance=np.diag(powers[0]) - _taken_up(data, fit, parts, along),
        cumulants=np.column_stack(powers[1:]),
        information=powers[0],
    )


def _taken_up(data: HazardData, fit: HazardFit, parts: NDArray[np.int64], along: Floats) -> Floats:
    """(P, P) what the fitted parameters and the groups' intercepts take up of the parts' scores."""
    n, n_parts = len(parts), int(parts.max()) + 1
    hazard = data.time * np.exp(np.clip(fit.baseline, -60, 40))
    shares = hazard / np.maximum(hazard @ np.ones(hazard.shape[1]), 1e-300)[:, None]
    weighted = fit.expected * along
    sums = sparse.csr_matrix((weighted, (parts, np.arange(n))), shape=(n_parts, n))
    shared = np.hstack([sums @ shares, sums @ data.design])
    cells = parts * data.n_groups + data.groups
    with_groups = np.bincount(cells, weighted, n_parts * data.n_groups).reshape(n_parts, data.n_groups)
    by_group = with_groups / fit.group_curvature
    shared = shared - by_group @ fit.group_cross
    return np.asarray(shared @ fit.covariance @ shared.T + by_group @ with_groups.T)


def spread_between(seen: Parts) -> Spread:
    """Spread of the effect between parts that are a sample of their kind, such as crews."""
    c = seen.covariance
    statistic, trace, square = float(seen.scores @ seen.scores), float(np.trace(c)), float((c * c).sum())
    if not square > 0:
        return Spread(0.0, np.inf, np.inf, 1.0)
    # the moments of a plain sum of squares need no products of matrices, so that many parts cost little
    roots, own, own_square = np.linalg.eigvalsh(c), np.diag(c), np.einsum("ij,ij->i", c, c)
    third, fourth, sixth = seen.cumulants.T

    def beyond(value: float, sd: float = 0.0) -> float:
        spread_roots, spread_own = roots + sd**2 * roots**2, own + sd**2 * own_square
        variance = 2 * (spread_roots**2).sum() + fourth.sum()
        lopsided = 8 * (spread_roots**3).sum() + (sixth + 12 * fourth * spread_own + 10 * third**2).sum()
        return _tail(value - spread_roots.sum(), float(variance), float(lopsided))

    p_value, furthest = beyond(statistic), MOST_SPREAD * square**-0.25
    high = 0.0 if p_value >= UPPER else np.inf
    if p_value < UPPER < beyond(statistic, furthest):
        high = optimize.brentq(lambda sd: beyond(statistic, sd) - UPPER, 0.0, furthest)
    critical = optimize.brentq(lambda value: beyond(value) - 0.05, 0.0, trace + 100 * square**0.5)
    sd_seen = float(np.sqrt(max(critical - trace, 0.0) / square))
    return Spread(
        sd=float(np.sqrt(max(statistic - trace, 0.0) / square)),
        sd_high=max(float(high), sd_seen),
        sd_seen=sd_seen,
        p_value=p_value,
    )


def differences_p(seen: Parts, told: NDArray[np.int64], inflation: float = 1.0) -> float:
    """p-value of the same effect in the parts `told`, others left free; two told parts or more.

    inflation  1 or more: by how much the model's variance is known to be too small
    """
    loose = np.linalg.pinv(seen.covariance, rcond=1e-6, hermitian=True)
    contrasts = np.zeros((len(told) - 1, len(seen.scores)))
    contrasts[np.arange(len(told) - 1), told[1:]] = 1.0
    contrasts[:, told[0]] = -1.0
    apart = contrasts @ loose
    form = apart.T @ np.linalg.pinv(apart @ contrasts.T, hermitian=True) @ apart
    return _beyond(seen, form, float(seen.scores @ form @ seen.scores) / inflation, seen.covariance)


def _beyond(seen: Parts, form: Floats, statistic: float, covariance: Floats) -> float:
    """Chance of a larger quadratic form of the scores than `statistic`, by its three first moments (Pearson III).

    Scores are sums over few events, so their cumulants beyond the variance enter: of a form A of independent scores
    with covariance C the third cumulant is 8 tr(AC)^3 + sum k6 a_ii^3 + 12 sum k4 a_ii (ACA)_ii + sum sum k3_i k3_j
    (6 a_ii a_ij a_jj + 4 a_ij^3).
    """
    third, fourth, sixth = seen.cumulants.T
    own, turned = np.diag(form), form @ covariance
    square = turned @ turned
    spread = float(2 * np.trace(square) + fourth @ own**2)
    lopsided = float(8 * np.trace(square @ turned) + sixth @ own**3 + 12 * (fourth * own) @ np.diag(turned @ form))
    lopsided += float(third @ (6 * own[:, None] * form * own + 4 * form**3) @ third)
    return _tail(statistic - float(np.trace(turned)), spread, lopsided)


def _tail(off: float, variance: float, lopsided: float) -> float:
    """Chance of more than `off` above the mean under the gamma law with this variance and third central moment."""
    shape = 4 * variance**3 / lopsided**2
    return float(special.gammaincc(shape, max(shape + off / variance**0.5 * shape**0.5, 0.0)))


def part_effects(
    fitted: tuple[HazardData, Prior, HazardFit], column: int, parts: NDArray[np.int64], sd: float
) -> tuple[Floats, Floats]:
    """(P,) effect of the column in each part and its standard error, all else fitted with them.

    fitted  what was fitted with one effect for all, under which prior, and the fit
    sd      of the normal prior of each part's effect about the common one
    """
    data, prior, fit = fitted
    n_parts, p = int(parts.max()) + 1, data.design.shape[1]
    apart = np.zeros((len(parts), n_parts))
    apart[np.arange(len(parts)), parts] = data.design[:, column]
    log_f = np.zeros(p) if prior.log_f is None else prior.log_f
    wider = Prior(
        np.concatenate([prior.precision, np.full(n_parts, sd**-2)]),
        prior.group_precision,
        np.concatenate([log_f, np.zeros(n_parts)]),
    )
    start = replace(fit, beta=np.concatenate([fit.beta, np.zeros(n_parts)]))
    # a thousandth of a standard error is finer than anybody reads
    whole = fit_hazard(replace(data, design=np.hstack([data.design, apart])), wider, start, tolerance=1e-3)
    covariance, own = whole.beta_covariance, slice(p, p + n_parts)
    variance = covariance[column, column] + 2 * covariance[column, own] + np.diag(covariance)[own]
    return whole.beta[column] + whole.beta[own], np.sqrt(variance)
