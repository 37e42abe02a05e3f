"""How many callbacks each month should bring, door by door, from how long it has been out and what door it is."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.covariates import Columns, door_columns
from pipeline.model.risk import DAYS_PER_YEAR
from pipeline.stats.group_spread import fit_with_group_spread
from pipeline.stats.hazards import HazardData, NoEventsError
from pipeline.stats.intervals import Floats
from pipeline.stats.time_at_risk import count_events, event_cuts, split_time


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
    days = [doors[name].to_physical().to_numpy().astype(np.int64) for name in ("started_on", "from_on", "until_on")]
    groups = doors["crew"].rank("dense").to_numpy().astype(np.int64) - 1
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
    cuts = event_cuts(ages)
    entry, leave = watch.ages(watch.begins), watch.ages(watch.ends)
    events = count_events(rows, ages, len(entry), cuts)
    try:
        data = HazardData(covariates.matrix, split_time(entry, np.maximum(leave, 1e-9), cuts), events, watch.groups)
        fit, _ = fit_with_group_spread(data, covariates.precision)
    except NoEventsError:
        return None
    counts, mean = events.sum(axis=1), fit.expected
    degrees = max(len(counts) - len(fit.beta) - len(fit.group_effects), 1)
    over = float(((counts - mean) ** 2).sum() / mean.sum()) * len(counts) / degrees
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
    seen = e > 0
    if seen.sum() < 2:
        return np.ones(counts.shape)
    ratio = y[seen] / e[seen]
    q = float((e[seen] * (ratio - 1) ** 2).sum())
    scale = e[seen].sum() - (e[seen] ** 2).sum() / e[seen].sum()
    spread = max(0.0, (q - (seen.sum() - 1)) / scale) if scale > 0 else 0.0
    others_y, others_e = y - counts, e - expected
    own = np.where(others_e > 0, others_y / np.maximum(others_e, 1e-12) - 1, 0.0)
    return np.asarray(1 + own * spread / (spread + 1 / np.maximum(others_e, 1e-12)))
