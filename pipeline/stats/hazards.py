"""Piecewise-constant hazards: Poisson with log time at risk, priors, pooled groups, deletion of groups.

Model, for door i of group g in age interval j: events_ij ~ Poisson(time_ij exp(a_j + x_i b + u_g)), b_k ~ Normal(0,
1 / precision_k), u_g ~ Normal(0, 1 / group_precision). Covariates are constant within a door, so every sum over
intervals factors and one row a door is enough. Groups are eliminated exactly (their block is diagonal), which also
gives the fit without any one group for one Newton step.

Sources: Holford (1980), Biometrics 36, 299-305; Laird and Olivier (1981), J. Am. Stat. Assoc. 76, 231-240 (the model);
Greenland and Mansournia (2015), Stat. Med. 34, 3133-3143 (log-F prior); Pregibon (1981), Ann. Stat. 9, 705-724
(one-step deletion).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from pipeline.stats.intervals import Floats

BLOCK_ROWS = 1024
MAX_STEPS = 60


@dataclass(frozen=True)
class HazardData:
    """What was watched. Rows must be sorted by group.

    design    (n, p) covariates, constant within a row
    time      (n, K) time at risk in each interval, 0 or more
    events    (n, K) events in each interval
    groups    (n,) group number 0..G-1 in ascending order; all 0 where there are no groups
    """

    design: Floats
    time: Floats
    events: Floats
    groups: NDArray[np.int64]

    @property
    def n_groups(self) -> int:
        """How many groups there are, 1 at least."""
        return int(self.groups[-1]) + 1 if len(self.groups) else 1


@dataclass(frozen=True)
class Prior:
    """precision (p,): 1 / variance of each coefficient, 0 for none. group_precision: None leaves groups out.

    log_f (p,): contrast size on which a coefficient has a log-F(1,1) prior, 0 for none.
    """

    precision: Floats
    group_precision: float | None = None
    log_f: Floats | None = None


@dataclass(frozen=True)
class HazardFit:
    """A fitted model. Parameters are ordered baseline (K) then coefficients (p).

    baseline      (K,) log hazard per unit of time in each interval at design 0
    beta          (p,) log hazard ratios
    group_effects (G,) log ratios of the groups
    covariance    (K + p, K + p) inverse of the penalised information, groups profiled out
    group_cross (G, K + p), group_curvature (G,)   information each group's intercept shares and has
    expected      (n,) events expected of each row
    log_likelihood  without priors
    """

    baseline: Floats
    beta: Floats
    group_effects: Floats
    covariance: Floats
    expected: Floats
    log_likelihood: float
    group_cross: Floats
    group_curvature: Floats

    @property
    def beta_covariance(self) -> Floats:
        """(p, p) covariance of the coefficients."""
        k = len(self.baseline)
        return self.covariance[k:, k:]


class NoEventsError(ValueError):
    """There is nothing to fit: no event, or no time at risk."""


@dataclass
class _Sums:
    """Information and score at one point, and what each group's intercept shares with the other parameters."""

    information: Floats  # (q, q), not yet profiled
    score: Floats  # (q,)
    group_score: Floats  # (G,)
    group_cross: Floats  # (G, q)
    expected: Floats  # (n,)
    log_likelihood: float


def fit_hazard(
    data: HazardData, prior: Prior, start: HazardFit | None = None, tolerance: float = 1e-8
) -> HazardFit:
    """Fits by Newton steps with halving until no parameter moves by more than `tolerance` standard errors.

    start  a fit of the same shape (baseline, beta, groups) to start from
    Raises NoEventsError where there are no events or no time; ValueError on shapes that do not match.
    """
    _check_shapes(data, prior)
    k = data.time.shape[1]
    theta, effects = _start(data, start)
    value, sums = _evaluate(data, prior, theta, effects)
    for _ in range(MAX_STEPS):
        step, group_step, size = _newton_step(sums, prior, theta, effects)
        theta, effects, value, sums = _walk(data, prior, (theta, effects, value), (step, group_step))
        if size < tolerance:
            break
    curvature = _group_curvature(sums, prior)
    return HazardFit(
        baseline=theta[:k],
        beta=theta[k:],
        group_effects=effects,
        covariance=_inverse(_profiled(sums, curvature) + _curvature(prior, theta[k:], k)),
        expected=sums.expected,
        log_likelihood=sums.log_likelihood,
        group_cross=sums.group_cross,
        group_curvature=curvature,
    )


def deletion_shifts(data: HazardData, prior: Prior, fit: HazardFit) -> Floats:
    """(G, K + p) shift of every parameter when one group is left out, by one Newton step.

    Source: Pregibon (1981), Ann. Stat. 9, 705-724.
    """
    information, scores = _group_parts(data, prior, fit)
    total = _inverse(fit.covariance)
    without = total[None, :, :] - information
    # a group that alone carries a parameter leaves a singular system: a whisper of ridge keeps the step finite
    ridge = 1e-9 * np.trace(total) / len(total) * np.eye(len(total))
    return -np.linalg.solve(without + ridge, scores[:, :, None])[:, :, 0]


def jackknife_variance(shifts: Floats) -> Floats:
    """(q,) delete-one-group jackknife variance from the shifts of G groups; nan with one group.

    Source: Efron and Stein (1981), Ann. Stat. 9, 586-596.
    """
    n_groups = len(shifts)
    if n_groups < 2:
        return np.full(shifts.shape[1], np.nan)
    centred = shifts - shifts.mean(axis=0)
    return (n_groups - 1) / n_groups * (centred**2).sum(axis=0)


def _check_shapes(data: HazardData, prior: Prior) -> None:
    n, p = data.design.shape
    if data.time.shape != data.events.shape or data.time.shape[0] != n or len(data.groups) != n:
        raise ValueError("design, time, events and groups must have one row a door")
    if len(prior.precision) != p:
        raise ValueError(f"{len(prior.precision)} prior precisions for {p} columns")
    if n == 0 or data.events.sum() <= 0 or data.time.sum() <= 0:
        raise NoEventsError("no events or no time at risk")


def _start(data: HazardData, start: HazardFit | None) -> tuple[Floats, Floats]:
    if start is not None:
        return np.concatenate([start.baseline, start.beta]), start.group_effects.copy()
    events, time = data.events.sum(axis=0), data.time.sum(axis=0)
    overall = events.sum() / time.sum()
    baseline = np.log((events + 0.5) / (time + 0.5 / overall))
    return np.concatenate([baseline, np.zeros(data.design.shape[1])]), np.zeros(data.n_groups)


def _evaluate(data: HazardData, prior: Prior, theta: Floats, effects: Floats) -> tuple[float, _Sums]:
    """Penalised log likelihood and the sums for the next step at (theta, effects), block by block."""
    n, k = data.time.shape
    q = k + data.design.shape[1]
    sums = _no_sums(n, q, len(effects))
    for begin in range(0, n, BLOCK_ROWS):
        _add_block(sums, data, slice(begin, min(begin + BLOCK_ROWS, n)), (theta, effects))
    sums.information[k:, :k] = sums.information[:k, k:].T
    return sums.log_likelihood - _penalty(prior, theta[k:], effects), sums


def _no_sums(n: int, q: int, n_groups: int) -> _Sums:
    return _Sums(np.zeros((q, q)), np.zeros(q), np.zeros(n_groups), np.zeros((n_groups, q)), np.empty(n), 0.0)


def _add_block(sums: _Sums, data: HazardData, rows: slice, point: tuple[Floats, Floats]) -> None:
    theta, effects = point
    k = data.time.shape[1]
    x, d, groups = data.design[rows], data.events[rows], data.groups[rows]
    eta = np.clip(x @ theta[k:] + effects[groups], -60, 40)
    mean = data.time[rows] * np.exp(np.clip(theta[:k], -60, 40)) * np.exp(eta)[:, None]
    m, by_row, by_interval, totals = mean.sum(axis=1), d.sum(axis=1), d.sum(axis=0), mean.sum(axis=0)
    xm = x * m[:, None]
    sums.expected[rows] = m
    sums.information[:k, k:] += mean.T @ x
    sums.information[k:, k:] += xm.T @ x
    sums.information[np.arange(k), np.arange(k)] += totals
    sums.score[:k] += by_interval - totals
    sums.score[k:] += (by_row - m) @ x
    sums.log_likelihood += float(by_interval @ theta[:k] + by_row @ eta - totals.sum())
    edges = np.concatenate([[0], np.flatnonzero(np.diff(groups)) + 1, [len(groups)]])
    for first, last in zip(edges[:-1], edges[1:], strict=True):
        group, part = groups[first], slice(first, last)
        sums.group_score[group] += by_row[part].sum() - m[part].sum()
        sums.group_cross[group, :k] += mean[part].sum(axis=0)
        sums.group_cross[group, k:] += m[part] @ x[part]


def _group_parts(data: HazardData, prior: Prior, fit: HazardFit) -> tuple[Floats, Floats]:
    """(G, q, q) information and (G, q) score of each group at the optimum, its intercept profiled out."""
    k = data.time.shape[1]
    shape = (len(fit.group_effects), k + data.design.shape[1])
    information, scores = np.zeros((*shape, shape[1])), np.zeros(shape)
    edges = np.searchsorted(data.groups, np.arange(shape[0] + 1))
    theta = np.concatenate([fit.baseline, fit.beta])
    for group in range(shape[0]):
        part = _no_sums(len(data.groups), shape[1], shape[0])
        for begin in range(edges[group], edges[group + 1], BLOCK_ROWS):
            _add_block(
                part,
                data,
                slice(begin, min(begin + BLOCK_ROWS, edges[group + 1])),
                (theta, fit.group_effects),
            )
        part.information[k:, :k] = part.information[:k, k:].T
        information[group], scores[group] = part.information, part.score
    if prior.group_precision is None:
        return information, scores
    cross, curvature = fit.group_cross, fit.group_curvature
    information -= cross[:, :, None] * cross[:, None, :] / curvature[:, None, None]
    # at the optimum the pull on a group's intercept is zero, so its score needs no correction
    return information, scores


def _group_curvature(sums: _Sums, prior: Prior) -> Floats:
    if prior.group_precision is None:
        return np.full(len(sums.group_score), np.inf)
    k = len(sums.score) - len(prior.precision)
    return sums.group_cross[:, :k].sum(axis=1) + prior.group_precision


def _profiled(sums: _Sums, curvature: Floats) -> Floats:
    return sums.information - (sums.group_cross / curvature[:, None]).T @ sums.group_cross


def _newton_step(sums: _Sums, prior: Prior, theta: Floats, effects: Floats) -> tuple[Floats, Floats, float]:
    k = len(theta) - len(prior.precision)
    curvature = _group_curvature(sums, prior)
    precision = prior.group_precision or 0.0
    pull = (sums.group_score - precision * effects) / curvature
    total = _profiled(sums, curvature) + _curvature(prior, theta[k:], k)
    gradient = sums.score - pull @ sums.group_cross
    gradient[k:] += _pull(prior, theta[k:])
    step = _solve(total, gradient)
    size = float(np.max(np.abs(step) * np.sqrt(np.maximum(np.diag(total), 1e-12))))
    return step, pull - (sums.group_cross @ step) / curvature, size


def _walk(
    data: HazardData, prior: Prior, here: tuple[Floats, Floats, float], step: tuple[Floats, Floats]
) -> tuple[Floats, Floats, float, _Sums]:
    theta, effects, value = here
    for halvings in range(12):
        scale = 0.5**halvings
        new_theta, new_effects = theta + scale * step[0], effects + scale * step[1]
        new_value, sums = _evaluate(data, prior, new_theta, new_effects)
        if new_value >= value - 1e-9 * (1 + abs(value)):
            return new_theta, new_effects, new_value, sums
    return new_theta, new_effects, new_value, sums


def _penalty(prior: Prior, beta: Floats, effects: Floats) -> float:
    penalty = 0.5 * float(prior.precision @ beta**2)
    if prior.log_f is not None:
        scaled = beta * prior.log_f
        penalty += float((np.logaddexp(0, scaled) - scaled / 2)[prior.log_f > 0].sum())
    if prior.group_precision is not None:
        penalty += 0.5 * prior.group_precision * float(effects @ effects)
    return penalty


def _pull(prior: Prior, beta: Floats) -> Floats:
    pull = -prior.precision * beta
    if prior.log_f is not None:
        pull = pull + prior.log_f * (0.5 - _logistic(beta * prior.log_f))
    return pull


def _curvature(prior: Prior, beta: Floats, k: int) -> Floats:
    diagonal = prior.precision.astype(float).copy()
    if prior.log_f is not None:
        p = _logistic(beta * prior.log_f)
        diagonal += prior.log_f**2 * p * (1 - p)
    # baselines carry no prior; a whisper of ridge keeps an interval without time from being singular
    return np.diag(np.concatenate([np.full(k, 1e-8), diagonal]))


def _logistic(x: Floats) -> Floats:
    return 1 / (1 + np.exp(-np.clip(x, -500, 500)))


def _solve(matrix: Floats, vector: Floats) -> Floats:
    try:
        return linalg.cho_solve(linalg.cho_factor(matrix, check_finite=False), vector, check_finite=False)
    except linalg.LinAlgError:
        return np.linalg.lstsq(matrix, vector, rcond=None)[0]


def _inverse(matrix: Floats) -> Floats:
    return _solve(matrix, np.eye(len(matrix)))
