"""How much of what a crew is called back for went through the steps that were measured, step by step.

For every fault all causes stand in one model with the door and the crew, so that each counts for what it does itself
and differences between crews tell nothing of it. A crew's doors are then held against the firm's by what the causes
multiply the hazard with: first with the causes of the first step and what they pass on to later ones, then with the
next step's as well, so that a step is credited with what it adds after the steps before it.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.model.crew_values import CrewValues, crew_values, passed_forward
from pipeline.model.evidence import LEAST_EVENTS
from pipeline.model.risk import FirstFaults
from pipeline.model.risk_columns import EXPECTED, GAP, UNEXPECTED, USUAL
from pipeline.model.study import Study
from pipeline.stats.hazards import HazardData, HazardFit, NoEventsError, Prior, fit_hazard
from pipeline.stats.intervals import Floats
from pipeline.stats.leaving_out import deletion_shifts, jackknife_variance, reported_variance
from pipeline.stats.time_at_risk import split_time

# What the trade expects is held loosely: nearly all of it is worse in the same direction, so that drawing it towards
# nothing would draw the crews' ratios towards 1 together.
SPREADS = np.where(np.arange(len(USUAL.kinds)) == EXPECTED, 1.0, USUAL.kinds)
CREWS_SD = 2.0  # crews are hardly pooled: the effect wanted is the one within crews
N_DRAWS = 1000
MOST_DOORS = 50_000  # enough to fit on; every crew's doors are summed


@dataclass(frozen=True)
class CrewSteps:
    """steps (S,) in the order of the work; ratios (S + 1, G): after the first s steps, 1 after none; draws of the same.

    places (S, G) number of the cause that adds most, of `causes`
    """

    steps: tuple[str, ...]
    ratios: Floats
    draws: Floats
    leading: NDArray[np.int64]
    causes: tuple[str, ...]


@dataclass(frozen=True)
class _Fitted:
    """One fault: beta (q,) of the causes, covariance (q, q), bare (n,) cumulative hazard of each door without them.

    again  callbacks for each unit of hazard after a door's first: a visit mends most doors
    """

    beta: Floats
    covariance: Floats
    bare: Floats
    again: float

    def callbacks(self, hazard: Floats) -> tuple[Floats, Floats]:
        """Callbacks of doors with these cumulative hazards, and how they move with the hazard's logarithm."""
        kept = np.exp(-hazard)
        return (1 - self.again) * (1 - kept) + self.again * hazard, hazard * ((1 - self.again) * kept + self.again)


def crew_steps(study: Study, faults: dict[str, tuple[FirstFaults, int]]) -> CrewSteps | None:
    """What went through the measured steps; None where no fault has enough first callbacks, or nothing is recorded.

    faults  by name, first episodes and the number of all that crews answer for
    """
    groups = study.firm.groups
    found = crew_values(study.firm)
    told = {name: fault for name, fault in faults.items() if fault[0].n_events >= LEAST_EVENTS}
    if not found.places or not told:
        return None
    orders = sorted({place.step_order for place in found.places})
    forward = [passed_forward(found, groups, found.until(order)) for order in orders]
    n_crews = int(groups.max()) + 1
    sums = _Sums(np.zeros((len(orders), n_crews)), np.zeros((len(orders), N_DRAWS, n_crews)), np.zeros(n_crews))
    pull = np.zeros((n_crews, len(found.places)))
    rng = np.random.default_rng([study.seed, 44])
    for name, (first, episodes) in told.items():
        fit = _fitted(study, found, (first, episodes), name)
        if fit is not None:
            pull += episodes * _add_fault(sums, fit, (found, groups, forward), episodes, rng)
    _add_others(sums, sum(n for name, (_, n) in faults.items() if name not in told))
    return _crew_steps(found, orders, sums, pull)


@dataclass
class _Sums:
    """Callbacks of the crews' doors (S, G) after the first steps, draws (S, R, G), and without any cause (G,)."""

    ratios: Floats
    draws: Floats
    bare: Floats


def _fitted(study: Study, found: CrewValues, seen: tuple[FirstFaults, int], fault: str) -> _Fitted | None:
    (first, episodes), firm, q = seen, study.firm, len(found.places)
    data, prior = _model(study, found, first, fault)
    try:
        fit = fit_hazard(data, prior, tolerance=1e-4, by_group=True)
    except NoEventsError:
        return None
    whole = split_time(study.watched.entry, study.watched.leave, first.cuts) @ np.exp(fit.baseline)
    of_door = firm.covariates.matrix @ fit.beta[len(fit.beta) - firm.covariates.matrix.shape[1] :]
    # that something is not recorded is not what the crew did: it stays with the door
    of_gaps = found.gaps.astype(np.float32) @ fit.beta[q : q + found.gaps.shape[1]]
    bare = whole * np.exp(of_door + of_gaps - of_gaps.mean())
    hazard = float((bare * np.exp(found.values @ fit.beta[:q])).sum())
    again = (episodes - first.n_events) / max(hazard - first.n_events, 1.0)
    return _Fitted(fit.beta[:q], _covariance(data, prior, fit, q), bare, float(np.clip(again, 0.0, 1.0)))


def _model(study: Study, found: CrewValues, first: FirstFaults, fault: str) -> tuple[HazardData, Prior]:
    """Some of the doors with their causes, what is not recorded, and the door; what the trade expects held loosely."""
    firm = study.firm
    rows = slice(None, None, max(1, -(-len(firm.groups) // MOST_DOORS)))
    gaps = found.gaps[rows].astype(float)
    matrix = np.column_stack([found.values[rows], gaps - gaps.mean(axis=0), firm.covariates.matrix[rows]])
    kinds = [EXPECTED if (place.name, fault) in study.expected_pairs else UNEXPECTED for place in found.places]
    known = np.concatenate([SPREADS[kinds], np.full(gaps.shape[1], USUAL.kinds[GAP])]) ** -2
    _, groups = np.unique(firm.groups[rows], return_inverse=True)
    data = HazardData(matrix, first.time[rows], first.events[rows], groups.astype(np.int64))
    return data, Prior(np.concatenate([known, firm.covariates.precision]), CREWS_SD**-2)


def _covariance(data: HazardData, prior: Prior, fit: HazardFit, q: int) -> Floats:
    """(q, q) of the causes' coefficients, widened to the jackknife over crews as that of the effects is."""
    own = fit.beta_covariance[:q, :q]
    k = len(fit.baseline)
    crews = jackknife_variance(deletion_shifts(data, prior, fit))[k : k + q]
    wide = np.sqrt(reported_variance(np.diag(own), crews) / np.diag(own))
    return np.asarray(own * np.outer(wide, wide))


def _add_fault(
    sums: _Sums,
    fit: _Fitted,
    doors: tuple[CrewValues, NDArray[np.int64], list[Floats]],
    episodes: int,
    rng: np.random.Generator,
) -> Floats:
    """Adds one fault's callbacks; (G, q) what each cause adds to the crew's log hazard beyond the firm's."""
    found, groups, forward = doors
    n_crews, move = len(sums.bare), rng.multivariate_normal(np.zeros(len(fit.beta)), fit.covariance, N_DRAWS)
    bare = np.asarray(np.bincount(groups, fit.callbacks(fit.bare)[0], n_crews), dtype=np.float64)
    share = episodes * bare / bare.sum()
    noise = rng.standard_normal((N_DRAWS, n_crews))
    for step, matrix in enumerate(forward):
        part = _multiplied(found, groups, fit, matrix)
        log_ratio = np.log(part.mass / np.where(bare > 0, bare, 1.0)) - np.log(part.mass.sum() / bare.sum())
        log_ratio = np.where(bare > 0, log_ratio, 0.0)
        firms = part.mass @ part.slope / max(part.mass.sum(), 1e-12)
        away = part.slope - firms
        # half the variance less, so that a mean of many faults is the ratio told
        drift = (np.einsum("gq,qp,gp->g", away, fit.covariance, away) + part.error**2) / 2
        drawn = log_ratio - drift + move @ away.T + noise * part.error
        sums.ratios[step] += share * np.exp(log_ratio)
        sums.draws[step] += share * np.exp(drawn)
    sums.bare += share
    means = _by_crew(found.values, fit.bare, groups, n_crews) / np.where(bare > 0, bare, 1.0)[:, None]
    return np.asarray((means - bare @ means / bare.sum()) * fit.beta)


@dataclass(frozen=True)
class _Multiplied:
    """By crew (G,): mass, callbacks with the causes at work; slope (G, q) of its log in beta; error of its log."""

    mass: Floats
    slope: Floats
    error: Floats


def _multiplied(found: CrewValues, groups: NDArray[np.int64], fit: _Fitted, forward: Floats) -> _Multiplied:
    until = len(forward)
    values, is_missing = found.values[:, :until], found.is_missing[:, :until]
    effects = forward @ fit.beta
    # doors on which a cause is not recorded differ among themselves as the others do
    spread = is_missing @ (effects**2 * found.within[:until])
    mass, moves = fit.callbacks(np.asarray(fit.bare * np.exp(values @ effects + spread / 2)))
    n_crews = len(found.mean_error)
    total = np.asarray(np.bincount(groups, mass, n_crews), dtype=np.float64)
    safe = np.where(total > 0, total, 1.0)[:, None]
    slope = _by_crew(values, moves, groups, n_crews) / safe
    missing = _by_crew(is_missing, moves, groups, n_crews) / safe
    of_mean = ((missing * effects) ** 2 * found.mean_error[:, :until]).sum(axis=1)
    of_doors = np.bincount(groups, moves**2 * np.expm1(spread), n_crews) / safe[:, 0] ** 2
    return _Multiplied(total, slope @ forward, np.sqrt(of_mean + of_doors))


def _by_crew(columns: NDArray[Any], weights: Floats, groups: NDArray[np.int64], n_crews: int) -> Floats:
    """(G, q) weighted sums of the columns (n, q) over each crew's doors, column by column: a copy of all is large."""
    return np.column_stack([np.bincount(groups, weights * column, n_crews) for column in columns.T])


def _add_others(sums: _Sums, episodes: int) -> None:
    """Callbacks for faults too rare to say what they come of: they go through no step."""
    share = episodes * sums.bare / max(sums.bare.sum(), 1e-12)
    sums.ratios += share
    sums.draws += share
    sums.bare += share


def _crew_steps(found: CrewValues, orders: list[int], sums: _Sums, pull: Floats) -> CrewSteps | None:
    if not sums.bare.sum() > 0:
        return None
    safe = np.where(sums.bare > 0, sums.bare, 1.0)
    ratios = np.concatenate([np.ones((1, len(safe))), np.where(sums.bare > 0, sums.ratios / safe, 1.0)])
    draws = np.where(sums.bare > 0, sums.draws / safe, 1.0)
    draws = np.concatenate([np.ones((1, *draws.shape[1:])), draws])
    steps = tuple(next(place.step for place in found.places if place.step_order == order) for order in orders)
    rises = np.sign(np.diff(ratios, axis=0))
    leading = np.zeros((len(orders), len(safe)), dtype=np.int64)
    for number, order in enumerate(orders):
        columns = [k for k, place in enumerate(found.places) if place.step_order == order]
        # the cause that pulls most in the direction in which the whole step goes
        leading[number] = np.array(columns)[np.argmax(pull[:, columns] * rises[number][:, None], axis=1)]
    return CrewSteps(steps, ratios, draws, leading, tuple(place.name for place in found.places))
