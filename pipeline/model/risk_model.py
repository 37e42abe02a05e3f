"""The risk of each fault within a year of everything that is recorded of a door, held against a later time.

Symptoms enter here: how a fault begins tells of it, though it is no cause.
"""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.evidence import LEAST_EVENTS
from pipeline.model.later_period import LEAST_LATER, Cut, came_later, cut_of, frequent_faults
from pipeline.model.risk import FirstFaults, first_faults
from pipeline.model.risk_columns import USUAL, RiskColumns, risk_columns
from pipeline.model.study import Study
from pipeline.stats.calibration import Later, Slope, calibration_slope, trusted_slope
from pipeline.stats.hazards import HazardData, HazardFit, NoEventsError, fit_hazard
from pipeline.stats.intervals import Z95, Floats
from pipeline.stats.prior_spreads import Spreads, learned_spreads
from pipeline.stats.time_at_risk import split_time

MOST_DOORS = 20_000  # enough to learn how wide priors should be


@dataclass(frozen=True)
class FaultRisk:
    """One fault. score (n,) calibrated log ratio of each door; hazard (K,) a year at score 0; cuts (K + 1,).

    events  (K,) first callbacks behind the hazard; doors: how many doors they come from
    errors  (m,) standard errors of the scores of the doors asked for
    signs   symptom's ordinal to its calibrated log ratio per unit, where it stands out
    """

    fault: str
    score: Floats
    hazard: Floats
    cuts: Floats
    events: Floats
    doors: int
    errors: Floats
    signs: dict[int, float]

    def within(self, entry: Floats, years: float, score: Floats) -> Floats:
        """(n,) risk of a first callback from ages `entry` (n,) on for `years`."""
        return -np.expm1(-split_time(entry, entry + years, self.cuts) @ self.hazard * np.exp(score))

    def interval(self, entry: Floats, years: float, score: Floats) -> tuple[Floats, Floats]:
        """(m,) ends of the 95 % interval of that risk for the doors asked for, from scores and level."""
        parts = split_time(entry, entry + years, self.cuts) * self.hazard
        share = parts / np.maximum(parts.sum(axis=1, keepdims=True), 1e-300)
        error = np.sqrt(self.errors**2 + share**2 @ (1 / np.maximum(self.events, 1.0)))
        low, high = (self.within(entry, years, score + side * Z95 * error) for side in (-1, 1))
        return low, high


@dataclass(frozen=True)
class Calibration:
    """How the earlier records foretold the later ones. kept: the part of predicted differences that is trusted.

    kept_error  its standard error
    """

    cut_on: date | None
    slope: Slope | None
    kept: float
    kept_error: float


def fault_risks(
    study: Study, episodes: pl.DataFrame, from_on: pl.Series, asked: NDArray[np.int64]
) -> tuple[list[FaultRisk], Calibration]:
    """Risks by fault, shrunk to what a later time bears out.

    study    watched doors and those to be foretold, which have no time at risk
    from_on  (n,) the day each door's age is 0
    asked    (m,) row numbers of the doors to be foretold
    """
    columns, names, cut = risk_columns(study), frequent_faults(episodes), cut_of(episodes, from_on)
    if not names or cut is None:
        return [], _calibration(None, None)
    early = Earlier(study, columns, cut)
    spreads = early.spreads(names)
    calibration = _calibration(cut.cut_on, early.slope(names, spreads))
    fits = ((name, first_faults(study.watched, episodes, name)) for name in names)
    found = (_risk(study, columns, named, (spreads, calibration), asked) for named in fits)
    return [risk for risk in found if risk is not None], calibration


def _calibration(cut_on: date | None, slope: Slope | None) -> Calibration:
    """What is trusted of the differences: the slope seen, weighed against what is usual; never more than all."""
    judged = slope if slope is not None and slope.events >= LEAST_LATER else None
    kept, error = trusted_slope(judged)
    return Calibration(cut_on, judged, float(np.clip(kept, 0.0, 1.0)), error)


def risk_data(study: Study, columns: RiskColumns, faults: FirstFaults) -> HazardData | None:
    """What the fit of one fault reads; None where its first callbacks are too few."""
    if faults.n_events < LEAST_EVENTS:
        return None
    return HazardData(columns.matrix, faults.time, faults.events, study.watched.groups)


def fit_risk(
    data: HazardData, kinds: NDArray[np.int64], spreads: Spreads, start: HazardFit | None = None
) -> HazardFit | None:
    """The fit with priors so wide; None where no event has time at risk."""
    try:
        return fit_hazard(data, spreads.prior(kinds), start, tolerance=1e-4)
    except NoEventsError:
        return None


def _score(study: Study, columns: RiskColumns, fit: HazardFit) -> Floats:
    score = columns.matrix @ fit.beta + fit.group_effects[study.watched.groups]
    return np.asarray(score - score.mean())


def _risk(
    study: Study,
    columns: RiskColumns,
    named: tuple[str, FirstFaults],
    learned: tuple[Spreads, Calibration],
    asked: NDArray[np.int64],
) -> FaultRisk | None:
    (name, faults), (spreads, calibration) = named, learned
    data = risk_data(study, columns, faults)
    fit = fit_risk(data, columns.kinds_for(name, study), spreads) if data else None
    if fit is None:
        return None
    raw, kept = _score(study, columns, fit), calibration.kept
    time = (faults.time * np.exp(kept * raw)[:, None]).sum(axis=0)
    events = faults.events.sum(axis=0)
    variance = kept**2 * _score_variances(study, columns, fit, asked) + (calibration.kept_error * raw[asked]) ** 2
    return FaultRisk(
        fault=name,
        score=kept * raw,
        # the level is that of the callbacks seen, with these scores
        hazard=np.divide(events, time, out=np.zeros_like(time), where=time > 0),
        cuts=faults.cuts,
        events=events,
        doors=int((faults.time.sum(axis=1) > 0).sum()),
        errors=np.sqrt(variance),
        signs=_signs(study, columns, fit, kept),
    )


def _score_variances(study: Study, columns: RiskColumns, fit: HazardFit, asked: NDArray[np.int64]) -> Floats:
    """(m,) variances of the doors' scores against the mean door's, crews profiled out and put back."""
    groups = study.watched.groups
    shares = np.bincount(groups, minlength=len(fit.group_effects)) / len(groups)
    own = 1 / fit.group_curvature
    follows = -fit.group_cross * own[:, None]  # how a crew's level moves with the other parameters
    contrast = follows[groups[asked]] - shares @ follows
    contrast[:, len(fit.baseline) :] += columns.matrix[asked] - columns.matrix.mean(axis=0)
    mine, mine_share = own[groups[asked]], shares[groups[asked]]
    of_crews = mine * (1 - 2 * mine_share) + float(shares**2 @ own)
    return np.asarray(of_crews + np.einsum("ij,jk,ik->i", contrast, fit.covariance, contrast, optimize=True))


def _signs(study: Study, columns: RiskColumns, fit: HazardFit, kept: float) -> dict[int, float]:
    errors = np.sqrt(np.diag(fit.beta_covariance))
    signs = {}
    for place in study.firm.places.values():
        (found,) = np.nonzero(columns.ordinals == place.ordinal)
        if place.role == "symptom" and len(found) and fit.beta[found[0]] > 2 * errors[found[0]]:
            signs[place.ordinal] = float(kept * fit.beta[found[0]] / columns.spreads[found[0]])
    return signs


class Earlier:
    """The records up to a day, and what came after it.

    starts  fits to begin from, by fault, once `spreads` were learned from all doors
    """

    def __init__(self, study: Study, columns: RiskColumns, cut: Cut) -> None:
        self._watched, self._columns, self._cut = study.watched, columns, cut
        self._study = replace(study, watched=cut.earlier(study.watched))
        self.starts: dict[str, HazardFit] = {}

    def spreads(self, names: list[str]) -> Spreads:
        """How wide the priors should be, from the earlier records of some doors."""
        step = max(1, -(-len(self._watched.groups) // MOST_DOORS))
        models = {}
        for name in names:
            data = self._data_of(name)[1]
            if data is not None and data.events[::step].sum() > 0:
                some = HazardData(data.design[::step], data.time[::step], data.events[::step], data.groups[::step])
                models[name] = some, self._columns.kinds_for(name, self._study)
        spreads, fits = learned_spreads(list(models.values()), USUAL)
        self.starts = dict(zip(models, fits, strict=True)) if step == 1 else {}
        return spreads

    def slope(self, names: list[str], spreads: Spreads) -> Slope | None:
        """The slope of what came later on what the earlier records foretold."""
        kinds = [self._later(name, spreads) for name in names]
        return calibration_slope([kind for kind in kinds if kind is not None])

    def _data_of(self, name: str) -> tuple[FirstFaults, HazardData | None]:
        faults = first_faults(self._study.watched, self._cut.before, name)
        return faults, risk_data(self._study, self._columns, faults)

    def _later(self, name: str, spreads: Spreads) -> Later | None:
        earlier, data = self._data_of(name)
        start = self.starts.get(name)
        fit = fit_risk(data, self._columns.kinds_for(name, self._study), spreads, start) if data else None
        if fit is None:
            return None
        came = came_later(self._cut, self._watched, name, earlier)
        return Later(_score(self._study, self._columns, fit), came.time @ np.exp(fit.baseline), came.events)
