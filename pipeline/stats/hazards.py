"""Piecewise-constant hazards: Poisson with log time at risk, priors, pooled groups.

Model, for door i of group g in age interval j: events_ij ~ Poisson(time_ij exp(a_j + x_i b + u_g)), b_k ~ Normal(0,
1 / precision_k), u_g ~ Normal(0, 1 / group_precision). Covariates are constant within a door, so every sum over
intervals factors and one row a door is enough. Groups are eliminated exactly (their block is diagonal).

Sources: Holford (1980), Biometrics 36, 299-305; Laird and Olivier (1981), J. Am. Stat. Assoc. 76, 231-240 (the model);
Greenland and Mansournia (2015), Stat. Med. 34, 3133-3143 (log-F prior).
"""

import itertools
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from pipeline.stats.blas import one_blas_thread
from pipeline.stats.intervals import Floats

BLOCK_ROWS = 2048
MAX_STEPS = 60
# Without a start, so many rows as this are first fitted on every tenth, if that leaves enough events a parameter.
MANY_ROWS, EVERY, EVENTS_A_PARAMETER = 20_000, 10, 20
# Steps below NEAR standard errors keep the last curvature, which costs most to sum up, while each is at most WORN times
# as long as the one before.
NEAR, WORN = 1.0, 0.2


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
    group_information (G, K + p, K + p)  each group's own part of the information, where it was asked for
    """

    baseline: Floats
    beta: Floats
    group_effects: Floats
    covariance: Floats
    expected: Floats
    log_likelihood: float
    group_cross: Floats
    group_curvature: Floats
    group_information: Floats | None = None

    @property
    def beta_covariance(self) -> Floats:
        """(p, p) covariance of the coefficients."""
        k = len(self.baseline)
        return self.covariance[k:, k:]


class NoEventsError(ValueError):
    """There is nothing to fit: no event, or no time at risk."""


@dataclass(frozen=True)
class _Seen:
    """Sums over the events alone: they do not change from step to step."""

    by_interval: Floats  # (K,)
    by_column: Floats  # (p,) covariates summed over events
    by_group: Floats  # (G,)


@dataclass
class _Expected:
    """Sums over the expected events at one point."""

    information: Floats | None  # (q, q), groups not yet profiled out; None where it was not asked for
    by_group: Floats | None  # (G, q, q) the same of each group; None where it was not asked for
    group_cross: Floats  # (G, q) what each group's intercept shares with the other parameters
    rows: Floats  # (n,)


@dataclass(frozen=True)
class _Point:
    """Parameters, what is expected there, and the penalised and plain log likelihoods."""

    theta: Floats
    effects: Floats
    expected: _Expected
    value: float
    log_likelihood: float


@dataclass(frozen=True)
class _Curve:
    """Curvature of the penalised log likelihood at one point.

    total (q, q) with groups profiled out; cross (G, q) and own (G,) of the groups' intercepts
    """

    total: Floats
    cross: Floats
    own: Floats


def fit_hazard(
    data: HazardData, prior: Prior, start: HazardFit | None = None, tolerance: float = 1e-8, by_group: bool = False
) -> HazardFit:
    """Fits by Newton steps with halving until no parameter moves by more than `tolerance` standard errors.

    start     a fit of the same shape (baseline, beta, groups) to start from
    by_group  keep each group's part of the information, for leaving groups out
    Raises NoEventsError where there are no events or no time; ValueError on shapes that do not match.
    """
    _check_shapes(data, prior)
    with one_blas_thread():
        point = _optimum(data, prior, _start(data, prior, start), (tolerance, by_group))
    k = data.time.shape[1]
    curve = _curve(point, prior)
    return HazardFit(
        baseline=point.theta[:k],
        beta=point.theta[k:],
        group_effects=point.effects,
        covariance=_inverse(curve.total),
        expected=point.expected.rows,
        log_likelihood=point.log_likelihood,
        group_cross=curve.cross,
        group_curvature=curve.own,
        group_information=point.expected.by_group,
    )


def _check_shapes(data: HazardData, prior: Prior) -> None:
    n, p = data.design.shape
    if data.time.shape != data.events.shape or data.time.shape[0] != n or len(data.groups) != n:
        raise ValueError("design, time, events and groups must have one row a door")
    if len(prior.precision) != p:
        raise ValueError(f"{len(prior.precision)} prior precisions for {p} columns")
    if n == 0 or data.events.sum() <= 0 or data.time.sum() <= 0:
        raise NoEventsError("no events or no time at risk")


def _optimum(data: HazardData, prior: Prior, start: tuple[Floats, Floats], asked: tuple[float, bool]) -> _Point:
    seen, (tolerance, by_group) = _seen(data), asked
    last_how = _BY_GROUP if by_group else _WHOLE
    point = _evaluate(data, prior, seen, start)
    curve, last = _curve(point, prior), np.inf
    for _ in range(MAX_STEPS):
        step, size = _newton_step(point, curve, prior, seen)
        if size < tolerance:
            return _evaluate(data, prior, seen, (point.theta + step[0], point.effects + step[1]), last_how)
        if size > WORN * last:
            point = _evaluate(data, prior, seen, (point.theta, point.effects))
        else:
            point = _walk(data, prior, seen, (point, step, _WHOLE if size >= NEAR else _SLOPE))
        last = size if point.expected.information is None else np.inf
        curve = curve if point.expected.information is None else _curve(point, prior)
    return _evaluate(data, prior, seen, (point.theta, point.effects), last_how)


def _start(data: HazardData, prior: Prior, start: HazardFit | None) -> tuple[Floats, Floats]:
    if start is not None:
        return np.concatenate([start.baseline, start.beta]), start.group_effects.copy()
    n, p = data.design.shape
    part = HazardData(data.design[::EVERY], data.time[::EVERY], data.events[::EVERY], data.groups[::EVERY])
    if n >= MANY_ROWS and part.events.sum() >= EVENTS_A_PARAMETER * (p + data.time.shape[1]):
        near = _optimum(part, prior, _flat_start(part), (0.1, False))
        return near.theta, np.pad(near.effects, (0, data.n_groups - part.n_groups))
    return _flat_start(data)


def _flat_start(data: HazardData) -> tuple[Floats, Floats]:
    events, time = data.events.sum(axis=0), data.time.sum(axis=0)
    overall = events.sum() / time.sum()
    baseline = np.log((events + 0.5) / (time + 0.5 / overall))
    return np.concatenate([baseline, np.zeros(data.design.shape[1])]), np.zeros(data.n_groups)


def _seen(data: HazardData) -> _Seen:
    by_row = data.events @ np.ones(data.events.shape[1])
    rows = np.flatnonzero(by_row)  # few rows have events
    by_group = np.bincount(data.groups[rows], by_row[rows], data.n_groups).astype(float)
    return _Seen(data.events[rows].sum(axis=0), by_row[rows] @ data.design[rows], by_group)


_SLOPE, _WHOLE, _BY_GROUP = range(3)  # how much of the information to sum up: none, all in one, each group's


def _evaluate(data: HazardData, prior: Prior, seen: _Seen, at: tuple[Floats, Floats], how: int = _WHOLE) -> _Point:
    theta, effects = at
    k, q, n_groups = data.time.shape[1], len(theta), len(effects)
    expected = _Expected(None, None, np.zeros((n_groups, q)), np.empty(len(data.groups)))
    if how == _BY_GROUP:
        expected.by_group = np.zeros((n_groups, q, q))
        edges = np.searchsorted(data.groups, np.arange(n_groups + 1))
        for part, (first, last) in zip(expected.by_group, itertools.pairwise(edges), strict=True):
            _add_rows(replace(expected, information=part), data, slice(first, last), at)
        expected.by_group[:, np.arange(k), np.arange(k)] = expected.group_cross[:, :k]
        expected.information = expected.by_group.sum(axis=0)
    else:
        expected.information = np.zeros((q, q)) if how == _WHOLE else None
        _add_rows(expected, data, slice(0, len(data.groups)), at)
        if expected.information is not None:
            expected.information[np.arange(k), np.arange(k)] = expected.group_cross[:, :k].sum(axis=0)
    fitted = float(seen.by_interval @ theta[:k] + seen.by_column @ theta[k:] + seen.by_group @ effects)
    log_likelihood = fitted - float(expected.rows.sum())
    return _Point(theta, effects, expected, log_likelihood - _penalty(prior, theta[k:], effects), log_likelihood)


def _add_rows(expected: _Expected, data: HazardData, rows: slice, at: tuple[Floats, Floats]) -> None:
    for begin in range(rows.start, rows.stop, BLOCK_ROWS):
        _add_block(expected, data, slice(begin, min(begin + BLOCK_ROWS, rows.stop)), at)
    if expected.information is not None:
        k = data.time.shape[1]
        expected.information[k:, :k] = expected.information[:k, k:].T


def _add_block(expected: _Expected, data: HazardData, rows: slice, at: tuple[Floats, Floats]) -> None:
    """Adds a block of rows. Time x rate x ratio factors, so intervals cost K columns and no rows."""
    theta, effects = at
    k = data.time.shape[1]
    x, time, groups = data.design[rows], data.time[rows], data.groups[rows]
    rates = np.exp(np.clip(theta[:k], -60, 40))
    ratios = np.exp(np.clip(x @ theta[k:] + effects[groups], -60, 40))
    m = (time @ rates) * ratios
    expected.rows[rows] = m
    if expected.information is not None:
        expected.information[:k, k:] += ((time * ratios[:, None]).T @ x) * rates[:, None]
        weighted = x * np.sqrt(m)[:, None]
        expected.information[k:, k:] += weighted.T @ weighted  # of one matrix with itself, half is computed
    edges = np.concatenate([[0], np.flatnonzero(groups[1:] != groups[:-1]) + 1, [len(groups)]])
    for first, last in itertools.pairwise(edges):
        cross, part = expected.group_cross[groups[first]], slice(first, last)
        cross[:k] += (ratios[part] @ time[part]) * rates
        cross[k:] += m[part] @ x[part]


def _group_curvature(expected: _Expected, prior: Prior) -> Floats:
    n_groups, q = expected.group_cross.shape
    if prior.group_precision is None:
        return np.full(n_groups, np.inf)
    return expected.group_cross[:, : q - len(prior.precision)].sum(axis=1) + prior.group_precision


def _curve(point: _Point, prior: Prior) -> _Curve:
    expected, k = point.expected, len(point.theta) - len(prior.precision)
    assert expected.information is not None
    cross, own = expected.group_cross, _group_curvature(expected, prior)
    profiled = expected.information - (cross / own[:, None]).T @ cross
    return _Curve(profiled + _curvature(prior, point.theta[k:], k), cross, own)


def _newton_step(point: _Point, curve: _Curve, prior: Prior, seen: _Seen) -> tuple[tuple[Floats, Floats], float]:
    k = len(point.theta) - len(prior.precision)
    cross, precision = point.expected.group_cross, prior.group_precision or 0.0
    pull = (seen.by_group - cross[:, :k].sum(axis=1) - precision * point.effects) / curve.own
    gradient = np.concatenate([seen.by_interval, seen.by_column]) - cross.sum(axis=0) - pull @ curve.cross
    gradient[k:] += _pull(prior, point.theta[k:])
    step = _solve(curve.total, gradient)
    size = float(np.max(np.abs(step) * np.sqrt(np.maximum(np.diag(curve.total), 1e-12))))
    return (step, pull - (curve.cross @ step) / curve.own), size


def _walk(data: HazardData, prior: Prior, seen: _Seen, move: tuple[_Point, tuple[Floats, Floats], int]) -> _Point:
    """The point after the step, halved until the penalised log likelihood does not fall."""
    here, (step, group_step), how = move
    there = here
    for halvings in range(12):
        scale = 0.5**halvings
        at = here.theta + scale * step, here.effects + scale * group_step
        there = _evaluate(data, prior, seen, at, how)
        if there.value >= here.value - 1e-9 * (1 + abs(here.value)):
            break
    return there


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
        return np.asarray(np.linalg.lstsq(matrix, vector, rcond=None)[0], dtype=np.float64)


def _inverse(matrix: Floats) -> Floats:
    return _solve(matrix, np.eye(len(matrix)))
