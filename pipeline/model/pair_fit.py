"""Fits one fault against one deviation: the within-crew log hazard ratio with a variance that crews cannot fool."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.model.covariates import Columns
from pipeline.model.pair_design import CREW_MEAN, STUDIED, PairDesign
from pipeline.model.risk import FirstFaults
from pipeline.stats.group_spread import fit_with_group_spread
from pipeline.stats.hazards import HazardData, HazardFit, NoEventsError, Prior, fit_hazard
from pipeline.stats.intervals import Floats
from pipeline.stats.leaving_out import deletion_shifts, jackknife_variance, reported_variance


@dataclass(frozen=True)
class FaultBase:
    """One fault before any deviation is studied: how much crews differ, and where to start the fits.

    crew_sd       standard deviation of crew intercepts on the log hazard, given the door
    coefficients  by column name, of the fit with everything in it; crew_effects (G,) by the firm's crew number
    """

    faults: FirstFaults
    crew_sd: float
    baseline: Floats
    coefficients: dict[str, float]
    crew_effects: Floats


@dataclass(frozen=True)
class PairEstimate:
    """log_ratio, error: per standard deviation of the deviation, within crews; between: the crew mean's own part.

    expected (m,) first callbacks expected of each door as recorded
    """

    log_ratio: float
    error: float
    between: float
    expected: Floats
    has_one_crew: bool


def fault_base(
    faults: FirstFaults, groups: NDArray[np.int64], covariates: Columns, adjusters: dict[str, Columns]
) -> FaultBase | None:
    """The starting point for all pairs of one fault, or None where there is nothing to fit."""
    try:
        door_only = HazardData(covariates.matrix, faults.time, faults.events, groups)
        _, crew_sd = fit_with_group_spread(door_only, covariates.precision)
        names = [*covariates.names, *(name for part in adjusters.values() for name in part.names)]
        everything = np.column_stack([covariates.matrix, *(part.matrix for part in adjusters.values())])
        precision = np.concatenate([covariates.precision, *(part.precision for part in adjusters.values())])
        data = HazardData(everything, faults.time, faults.events, groups)
        full = fit_hazard(data, Prior(precision, crew_sd**-2))
    except NoEventsError:
        return None
    return FaultBase(faults, crew_sd, full.baseline, dict(zip(names, full.beta, strict=True)), full.group_effects)


def fitted(design: PairDesign, base: FaultBase, by_group: bool = True) -> tuple[HazardData, Prior, HazardFit]:
    """What was fitted, under which prior, and the fit; with by_group each crew's part in it.

    Raises NoEventsError where no event falls on these doors.
    """
    faults = base.faults
    data = HazardData(design.matrix, faults.time[design.rows], faults.events[design.rows], design.groups)
    log_f = np.zeros(len(design.names))
    log_f[STUDIED] = design.contrast_in_spreads
    prior = Prior(design.precision, base.crew_sd**-2, log_f)
    return data, prior, fit_hazard(data, prior, start=_start(design, base), by_group=by_group)


def fit_pair(design: PairDesign, base: FaultBase) -> PairEstimate:
    """The effect of the design's deviation on the base's fault.

    Variance: the larger of the model's own and the mean of it and the delete-one-crew jackknife; with one crew the
    model's own. Raises NoEventsError where no event falls on these doors.
    """
    data, prior, fit = fitted(design, base)
    column = len(fit.baseline) + STUDIED
    own = float(fit.covariance[column, column])
    crews = float(jackknife_variance(deletion_shifts(data, prior, fit))[column])
    return PairEstimate(
        log_ratio=float(fit.beta[STUDIED]),
        error=float(np.sqrt(reported_variance(own, crews))),
        between=float(fit.beta[STUDIED] + fit.beta[CREW_MEAN]),
        expected=fit.expected,
        has_one_crew=bool(np.isnan(crews)),
    )


def _start(design: PairDesign, base: FaultBase) -> HazardFit:
    beta = np.array([base.coefficients.get(name, 0.0) for name in design.names])
    beta[CREW_MEAN] = 0.0
    nothing = np.empty(0)
    return HazardFit(
        baseline=base.baseline,
        beta=beta,
        group_effects=base.crew_effects[design.crews],
        covariance=nothing,
        expected=nothing,
        log_likelihood=0.0,
        group_cross=nothing,
        group_curvature=nothing,
    )
