"""How many callbacks each month should bring, door by door, from how long it has been out and what door it is."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.covariates import Columns, door_columns
from pipeline.model.days import numbers_of
from pipeline.model.risk import DAYS_PER_YEAR, crew_numbers
from pipeline.stats.dispersion import dispersion_of
from pipeline.stats.funnel import additive_over_dispersion
from pipeline.stats.hazards import HazardData, NoEventsError, Prior, fit_hazard
from pipeline.stats.intervals import Floats
from pipeline.stats.time_at_risk import count_events, event_cuts, split_time

TWO_YEARS = 24
CREW_PRECISION = 1.0  # crews are as unlike as they like, so that case mix is told within crews
AGE_INTERVALS = 12  # a firm begins with young doors only: a coarse hazard would look like a change with time


@dataclass(frozen=True)
class DoorRisk:
    """rates (n,) of each door with an average crew against a door at design 0; cuts and hazard by age, a year.

    over_dispersion  variance of counts over their mean, from doors that differ beyond what is recorded; 1 or more
    """

    rates: Floats
    cuts: Floats
    hazard: Floats
    over_dispersion: float

    def grown(self, ages: Floats) -> Floats:
        """(n,) callbacks expected of each door from age 0 to the age given, years."""
        widths = np.minimum(np.maximum(ages[:, None] - self.cuts[:-1], 0.0), np.diff(self.cuts))
        return np.asarray(self.rates * (widths @ self.hazard))


@dataclass(frozen=True)
class DoorWatch:
    """When doors were at risk, days since 1970: started, from which day to which; groups (n,) ascending."""

    started: NDArray[np.int64]
    begins: NDArray[np.int64]
    ends: NDArray[np.int64]
    groups: NDArray[np.int64]

    def ages(self, days: NDArray[np.int64] | int) -> Floats:
        """(n,) age in years that a door has reached under watch on that day."""
        return np.asarray((np.clip(days, self.begins, self.ends) - self.started) / DAYS_PER_YEAR)


def watch_of(doors: pl.DataFrame) -> DoorWatch:
    """The watch of doors with time at risk, sorted by crew; doors: rows of door_time."""
    days = [numbers_of(doors[name]) for name in ("started_on", "from_on", "until_on")]
    groups = crew_numbers(doors["crew"])
    return DoorWatch(days[0], days[1], np.maximum(days[2], days[1]), groups)


def steady_columns(doors: pl.DataFrame, installs: pl.DataFrame) -> Columns:
    """The door as columns, without season and year of fitting: what changes with time is what charts look for."""
    rows = doors.select("install_id").join(installs, on="install_id", how="left", maintain_order="left")
    columns = door_columns(rows)
    kept = [i for i, name in enumerate(columns.names) if not name.startswith(("season ", "year "))]
    return Columns(tuple(columns.names[i] for i in kept), columns.matrix[:, kept], columns.precision[kept])


def door_risk(watch: DoorWatch, covariates: Columns, rows: NDArray[np.int64], ages: Floats) -> DoorRisk | None:
    """The hazard fitted with crews in the model, read without them; None without any callback.

    rows, ages  of the callbacks: door numbers, and ages in years
    """
    cuts = event_cuts(ages, AGE_INTERVALS)
    entry, leave = watch.ages(watch.begins), watch.ages(watch.ends)
    events = count_events(rows, ages, len(entry), cuts)
    try:
        data = HazardData(covariates.matrix, split_time(entry, np.maximum(leave, 1e-9), cuts), events, watch.groups)
        fit = fit_hazard(data, Prior(covariates.precision, CREW_PRECISION))
    except NoEventsError:
        return None
    counts = events.sum(axis=1)
    over = dispersion_of(counts, fit.expected, len(fit.beta) + len(fit.group_effects))
    risk = DoorRisk(np.exp(covariates.matrix @ fit.beta), cuts, np.exp(fit.baseline), max(1.0, over))
    total = float((risk.grown(leave) - risk.grown(entry)).sum())
    return DoorRisk(risk.rates, cuts, risk.hazard * counts.sum() / total, risk.over_dispersion)


def expected_by_month(watch: DoorWatch, risk: DoorRisk, month_starts: NDArray[np.int64]) -> Floats:
    """(G, M) callbacks expected of each crew's doors in each month.

    month_starts  (M + 1,) first days, the last one the day after the end
    """
    groups = int(watch.groups[-1]) + 1 if len(watch.groups) else 0
    before = risk.grown(watch.ages(int(month_starts[0])))
    expected = np.zeros((groups, len(month_starts) - 1))
    for month, day in enumerate(month_starts[1:]):
        after = risk.grown(watch.ages(int(day)))
        expected[:, month] = np.bincount(watch.groups, after - before, groups)
        before = after
    return expected


def month_factors(counts: Floats, expected: Floats) -> Floats:
    """(G, M) how many times as many callbacks as expected a month brings the other crews, drawn to 1 for chance.

    Weather, holidays and late paper reach all crews alike: a crew does not alarm for them. How far months differ at
    all is the moment estimate of their variance beyond chance.
    Source: DerSimonian and Laird (1986), Control. Clin. Trials 7, 177-188 (the estimator).
    """
    y, e = counts.sum(axis=0), expected.sum(axis=0)
    spread = _spread(y, e)
    others_y, others_e = y - counts, e - expected
    return _drawn_to_one(others_y, others_e, spread)


def season_factors(counts: Floats, expected: Floats, month_starts: NDArray[np.int64]) -> Floats:
    """(M,) how many times as many callbacks as expected the time of year brings; 1 with fewer than two years.

    counts, expected  (M,) of one fault; drawn to 1 as in month_factors
    """
    if len(counts) < TWO_YEARS:
        return np.ones(len(counts))
    of_year = month_starts[:-1].astype("datetime64[D]").astype("datetime64[M]").astype(np.int64) % 12
    y, e = (np.bincount(of_year, part, 12).astype(float) for part in (counts, expected))
    return _drawn_to_one(y, e, _spread(y, e))[of_year]


def month_over_dispersion(counts: Floats, expected: Floats) -> float:
    """Variance of monthly counts over their mean, from how far neighbouring months lie apart; 1 or more.

    counts, expected  (G, M), pooled over the groups
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        jumps = np.diff(counts / expected, axis=1) ** 2 / (1 / expected[:, 1:] + 1 / expected[:, :-1])
    # where hardly any is expected a single one would weigh as much as a year
    usable = np.minimum(expected[:, 1:], expected[:, :-1]) >= 1
    return max(1.0, float(jumps[usable].mean())) if usable.any() else 1.0


def _spread(y: Floats, e: Floats) -> float:
    """Variance of ratios y / e around 1 beyond chance."""
    seen = e > 0
    if seen.sum() < 2:
        return 0.0
    return additive_over_dispersion(y[seen] / e[seen], e[seen] ** -0.5, target=1.0).tau2


def _drawn_to_one(y: Floats, e: Floats, spread: float) -> Floats:
    safe = np.maximum(e, 1e-12)
    own = np.where(e > 0, y / safe - 1, 0.0)
    return np.asarray(1 + own * spread / (spread + 1 / safe))
