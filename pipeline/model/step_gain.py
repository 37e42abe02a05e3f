"""Callbacks a year that a crew would spare in one step of the work: at the firm's better half, and at the limits.

For every fault the causes of the step that count stand in one model together, adjusted for the door, the crew
and the earlier steps, never for later ones: what the step does in all, and nothing of it twice. A crew's doors are
held against those of the crews in the step's better half by what they multiply the hazard with. What a crew's other
doors are like is taken from those on which the step is recorded.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.model.adjusters import Place
from pipeline.model.pair_design import ADJUSTER_PRECISION, Firm, adjuster_columns
from pipeline.model.risk import FirstFaults
from pipeline.stats.hazards import HazardData, NoEventsError, Prior, fit_hazard
from pipeline.stats.intervals import Floats
from pipeline.stats.leaving_out import deletion_shifts, jackknife_variance, reported_variance

CREWS_SD = 2.0  # crews are hardly pooled: the effect wanted is the one within crews


@dataclass(frozen=True)
class StepMultiplier:
    """By crew (G,), what a step's deviations multiply the hazard of one fault with; nan where nothing is recorded.

    weight      events that the crew's recorded doors would expect without the step's deviations
    log_mean    log of the mean multiplier;  error: its standard error from the doors there are
    slope (G, q), curve (G, q, q): how log_mean moves with the coefficients;  covariance (q, q) of these
    log_at_limits  log_mean with every deviation at its limit where it exceeds it
    expected    (n,) first callbacks of each door
    """

    weight: Floats
    log_mean: Floats
    error: Floats
    slope: Floats
    curve: Floats
    covariance: Floats
    log_at_limits: Floats
    expected: Floats

    def draws(self, rng: np.random.Generator, n_draws: int) -> Floats:
        """(R, G) draws of the mean multiplier, on the coefficients' distribution and the chance of the doors."""
        move = rng.multivariate_normal(np.zeros(len(self.covariance)), self.covariance, n_draws)
        bent = np.einsum("rq,gqp,rp->rg", move, self.curve, move) / 2
        noise = rng.standard_normal((n_draws, len(self.error))) * self.error
        return np.asarray(np.exp(self.log_mean + move @ self.slope.T + bent + noise))


def step_multiplier(firm: Firm, limits: Floats, causes: list[Place], faults: FirstFaults) -> StepMultiplier | None:
    """The multiplier of these causes, all of one step, on one fault; None where nothing can be fitted.

    limits  (n, D) the governing limit of each door and deviation, nan where there is none
    """
    columns = adjuster_columns(firm)
    causes = [cause for cause in causes if cause.name in columns]
    if not causes:
        return None
    order = causes[0].step_order
    others = [part for name, part in columns.items() if firm.places[name].step_order < order]
    marks = [columns[cause.name].matrix[:, 1:] for cause in causes]
    own = np.column_stack([columns[cause.name].matrix[:, 0] for cause in causes])
    matrix = np.column_stack([own, *marks, firm.covariates.matrix, *(part.matrix for part in others)])
    weak = len(firm.covariates.names)
    precision = np.full(matrix.shape[1], ADJUSTER_PRECISION)
    before = own.shape[1] + sum(part.shape[1] for part in marks)
    precision[before : before + weak] = firm.covariates.precision
    data, prior = HazardData(matrix, faults.time, faults.events, firm.groups), Prior(precision, CREWS_SD**-2)
    try:
        fit = fit_hazard(data, prior, by_group=True)
    except NoEventsError:
        return None
    k, q = len(fit.baseline), own.shape[1]
    model = fit.covariance[k : k + q, k : k + q]
    widening = _widening(np.diag(model), jackknife_variance(deletion_shifts(data, prior, fit))[k : k + q])
    beta = fit.beta[:q]
    bare = fit.expected * np.exp(-own @ beta)
    seen, at_limits = _scaled_values(firm, limits, causes, own)
    recorded = np.isfinite(firm.values[:, [cause.ordinal for cause in causes]]).any(axis=1)
    return _by_crew(
        (bare * recorded, seen, at_limits), firm.groups, beta, (model * np.outer(widening, widening), fit.expected)
    )


def _widening(own: Floats, crews: Floats) -> Floats:
    """(q,) by how much the jackknife over crews widens each error, as for the effects: never below the model's own."""
    return np.sqrt(reported_variance(own, crews) / own)


def _scaled_values(firm: Firm, limits: Floats, causes: list[Place], own: Floats) -> tuple[Floats, Floats]:
    """(n, q) deviations in standard deviations, as recorded and at their limits; not recorded: the crew's mean."""
    seen, at_limits = own.copy(), own.copy()
    for column, cause in enumerate(causes):
        values, limit = firm.values[:, cause.ordinal], limits[:, cause.ordinal]
        is_known = np.isfinite(values)
        crews = np.bincount(firm.groups, is_known)
        mean = np.bincount(firm.groups, np.where(is_known, own[:, column], 0.0)) / np.maximum(crews, 1)
        seen[~is_known, column] = mean[firm.groups[~is_known]]
        beyond = np.nan_to_num(cause.beyond(values, limit))
        at_limits[:, column] = seen[:, column] - beyond / (float(np.nanstd(values)) or 1.0)
    return seen, at_limits


def _pooled(spread: Floats, squares: Floats) -> Floats:
    """(G,) squared errors of sums, never less than all crews' doors: few without a fault look too much alike."""
    usual = np.nansum(spread) / np.nansum(squares)
    own = np.divide(spread, squares, out=np.full_like(spread, usual), where=squares > 0)
    return np.asarray(np.maximum(own, usual) * squares)


def _by_crew(
    doors: tuple[Floats, Floats, Floats], groups: NDArray[np.int64], beta: Floats, also: tuple[Floats, Floats]
) -> StepMultiplier:
    (weight, seen, at_limits), (covariance, expected) = doors, also
    tilt, limited = np.exp(seen @ beta), np.exp(at_limits @ beta)

    edges = np.searchsorted(groups, np.arange(int(groups.max()) + 1))

    def crew_sum(values: Floats) -> Floats:
        return np.asarray(np.add.reduceat(values, edges))

    total = crew_sum(weight)
    with np.errstate(divide="ignore", invalid="ignore"):
        mass = crew_sum(weight * tilt)
        mean = mass / total
        tilted = (weight * tilt)[:, None] * seen
        slope = crew_sum(tilted) / mass[:, None]
        # crew by crew: a square for every door would not fit into memory
        crews = zip(edges, [*edges[1:], len(groups)], strict=True)
        square = np.stack([tilted[a:b].T @ seen[a:b] for a, b in crews]) / mass[:, None, None]
        spread = _pooled(crew_sum((weight * (tilt - mean[groups])) ** 2) / mean**2, crew_sum(weight**2)) * mean**2
        return StepMultiplier(
            weight=total,
            log_mean=np.log(mean),
            error=np.sqrt(spread) / mass,
            slope=slope,
            curve=square - slope[:, :, None] * slope[:, None, :],
            covariance=covariance,
            log_at_limits=np.log(crew_sum(weight * limited) / total),
            expected=expected,
        )
