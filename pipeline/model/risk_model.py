"""The risk of each fault within a year of everything that is recorded of a door, held against a later time.

Symptoms enter here: how a fault begins tells of it, though it is no cause.
"""

from dataclasses import dataclass, replace
from datetime import date
from typing import cast

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.covariates import standardised
from pipeline.model.evidence import LEAST_EVENTS
from pipeline.model.pair_design import LEAST_RECORDED
from pipeline.model.risk import DAYS_PER_YEAR, FirstFaults, Watched, answered_episodes, first_faults
from pipeline.model.study import Study
from pipeline.stats.calibration import Later, Slope, calibration_slope
from pipeline.stats.hazards import HazardData, HazardFit, NoEventsError, Prior, fit_hazard
from pipeline.stats.intervals import Floats
from pipeline.stats.time_at_risk import split_time

# What foretells is held tighter than what is estimated: on simulated firms of 1,500 and 4,000 doors scores then went
# with the true hazards at 0.63 to 0.72 (correlation), at the sds of effects at 0.55 to 0.65.
DEVIATION_PRECISION, DOOR_PRECISION = 1 / 0.15**2, 1 / 0.25**2
CREW_PRECISION = 1 / 0.25**2  # a crew's own level, sd on the log hazard
LATER_SHARE = 0.35  # of the first callbacks, the latest are those that the earlier ones are judged by
LEAST_LATER = 30
UNJUDGED = 0.8  # how far differences are trusted where too few came later to judge: a judgement, no source


@dataclass(frozen=True)
class Columns:
    """matrix (n, p), precision (p,); ordinals (p,) of the deviation a column is the value of, else -1; spreads (p,)."""

    matrix: Floats
    precision: Floats
    ordinals: NDArray[np.int64]
    spreads: Floats


@dataclass(frozen=True)
class FaultRisk:
    """One fault. score (n,) calibrated log ratio of each door; hazard (K,) a year at score 0; cuts (K + 1,).

    signs  symptom's ordinal to its calibrated log ratio per unit, where it stands out
    """

    fault: str
    score: Floats
    hazard: Floats
    cuts: Floats
    signs: dict[int, float]

    def within(self, entry: Floats, years: float, score: Floats) -> Floats:
        """(n,) risk of a first callback from ages `entry` (n,) on for `years`."""
        return -np.expm1(-split_time(entry, entry + years, self.cuts) @ self.hazard * np.exp(score))


@dataclass(frozen=True)
class Calibration:
    """How the earlier records foretold the later ones. kept: the part of predicted differences that is trusted."""

    cut_on: date | None
    slope: Slope | None
    kept: float


def fault_risks(study: Study, episodes: pl.DataFrame, from_on: pl.Series) -> tuple[list[FaultRisk], Calibration]:
    """Risks by fault, shrunk to what a later time bears out.

    study    watched doors and those to be foretold, which have no time at risk
    from_on  (n,) the day each door's age is 0
    """
    columns = _columns(study)
    counted = answered_episodes(episodes)
    names = [name for name, n in sorted(counted.group_by("fault").len().iter_rows()) if n >= LEAST_EVENTS]
    days = counted["reported_on"].sort()
    cut_on = cast(date, days[int((1 - LATER_SHARE) * (len(days) - 1))]) if names else None
    slope = _judged(study, columns, episodes, names, (from_on, cut_on)) if cut_on else None
    is_judged = slope is not None and slope.events >= LEAST_LATER
    kept = float(np.clip(slope.slope, 0.0, 1.0)) if slope is not None and is_judged else UNJUDGED
    fits = ((name, first_faults(study.watched, episodes, name)) for name in names)
    risks = [risk for name, faults in fits if (risk := _risk(study, columns, (name, faults), kept)) is not None]
    return risks, Calibration(cut_on, slope if is_judged else None, kept)


def _columns(study: Study) -> Columns:
    firm, parts = study.firm, [study.firm.covariates.matrix]
    precision = [DOOR_PRECISION] * len(firm.covariates.names)
    ordinals, spreads = [-1] * len(precision), [1.0] * len(precision)
    for place in firm.places.values():
        values = firm.values[:, place.ordinal]
        is_seen = np.isfinite(values)
        if place.role not in ("cause", "symptom") or is_seen.mean() < LEAST_RECORDED or not np.ptp(values[is_seen]) > 0:
            continue
        scaled, missing = standardised(values)
        parts.append(scaled[:, None])
        ordinals.append(place.ordinal)
        spreads.append(float(np.nanstd(values)))
        if 0 < missing.mean() < 1:
            parts.append((missing - missing.mean())[:, None])
            ordinals.append(-1)
            spreads.append(1.0)
        precision += [DEVIATION_PRECISION] * (len(ordinals) - len(precision))
    return Columns(np.column_stack(parts), np.array(precision), np.array(ordinals, dtype=np.int64), np.array(spreads))


def _fit(study: Study, columns: Columns, faults: FirstFaults) -> HazardFit | None:
    if faults.n_events < LEAST_EVENTS:
        return None
    data = HazardData(columns.matrix, faults.time, faults.events, study.watched.groups)
    try:
        return fit_hazard(data, Prior(columns.precision, CREW_PRECISION), tolerance=1e-4)
    except NoEventsError:
        return None


def _score(study: Study, columns: Columns, fit: HazardFit) -> Floats:
    score = columns.matrix @ fit.beta + fit.group_effects[study.watched.groups]
    return np.asarray(score - score.mean())


def _risk(study: Study, columns: Columns, named: tuple[str, FirstFaults], kept: float) -> FaultRisk | None:
    name, faults = named
    fit = _fit(study, columns, faults)
    if fit is None:
        return None
    score = kept * _score(study, columns, fit)
    time = (faults.time * np.exp(score)[:, None]).sum(axis=0)
    events = faults.events.sum(axis=0)
    # the level is that of the callbacks seen, with these scores
    hazard = np.divide(events, time, out=np.zeros_like(time), where=time > 0)
    errors = np.sqrt(np.diag(fit.beta_covariance))
    signs = {}
    for place in study.firm.places.values():
        (found,) = np.nonzero(columns.ordinals == place.ordinal)
        if place.role == "symptom" and len(found) and fit.beta[found[0]] > 2 * errors[found[0]]:
            signs[place.ordinal] = float(kept * fit.beta[found[0]] / columns.spreads[found[0]])
    return FaultRisk(name, score, hazard, faults.cuts, signs)


def _judged(
    study: Study, columns: Columns, episodes: pl.DataFrame, names: list[str], days: tuple[pl.Series, date]
) -> Slope | None:
    """The slope of what came after the cut on what the records up to it foretold."""
    from_on, cut_on = days
    days_old = pl.DataFrame({"from_on": from_on}).select((pl.lit(cut_on) - pl.col("from_on")).dt.total_days())
    age = (days_old.to_series().to_numpy() + 0.5) / DAYS_PER_YEAR
    watched = study.watched
    early = replace(watched, leave=np.clip(watched.leave, None, np.maximum(age, watched.entry)))
    before = episodes.filter(pl.col("reported_on") <= cut_on)
    kinds = [_later(replace(study, watched=early), columns, (name, before, episodes), (watched, age)) for name in names]
    return calibration_slope([kind for kind in kinds if kind is not None])


def _later(
    study: Study, columns: Columns, named: tuple[str, pl.DataFrame, pl.DataFrame], ages: tuple[Watched, Floats]
) -> Later | None:
    (name, before, episodes), (watched, age) = named, ages
    earlier = first_faults(study.watched, before, name)
    fit = _fit(study, columns, earlier)
    if fit is None:
        return None
    everything = first_faults(watched, episodes, name)
    ends = watched.entry + everything.time.sum(axis=1)
    time = split_time(np.maximum(watched.entry, age), ends, earlier.cuts)
    events = np.where(ends > age, everything.events.sum(axis=1), 0.0)
    return Later(_score(study, columns, fit), time @ np.exp(fit.baseline), events)
