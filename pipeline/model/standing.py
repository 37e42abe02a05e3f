"""What a firm knows on one day of what comes back: counts by age and month, doors out, doors to come."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl

from pipeline.model.days import day_number, day_of, numbers_of
from pipeline.model.door_differences import clumping_of, door_error, door_means, frailty_of
from pipeline.model.late_paper import delays_known
from pipeline.model.month_grid import MONTHS_AHEAD, MonthGrid, ages_up_to, by_month, doors_at_risk, doublings, grid_to
from pipeline.model.risk import DAYS_PER_YEAR
from pipeline.stats.age_and_month import AgeMonthCounts
from pipeline.stats.intervals import Floats
from pipeline.stats.right_truncation import Delays

LEAST_CALLBACKS, LEAST_MONTHS = 20, 6
DAYS_PER_MONTH = DAYS_PER_YEAR / 12
MOST_DAYS_AHEAD = 400  # twelve whole months after the month of the last day
NEVER = date(9999, 12, 31)


@dataclass(frozen=True)
class Standing:
    """One day's knowledge. M months seen, 12 ahead, K intervals of age.

    seen           what the rates are learnt from; snags are left out
    out            (K, 12) door-years that doors already out will be at risk
    to_come        (K, 12) the same of doors to come
    snags_to_come  (12,) calls before handover that doors to come bring
    reported       (M,) callbacks reported in each month, as far as on paper
    arrived        (M,) share of each month's paper that has arrived
    known_costs    (n,) costs of single callbacks, where known
    door_error     sd of the total, over its mean, from doors that differ for good: those that will be at risk are not
                   those that were, in the same proportions
    """

    grid: MonthGrid
    seen: AgeMonthCounts
    out: Floats
    to_come: Floats
    snags_to_come: Floats
    reported: Floats
    arrived: Floats
    delays: Delays
    known_costs: Floats
    door_error: float

    @property
    def is_enough(self) -> bool:
        """There is enough to say something of the next months."""
        months = int((self.seen.exposure.sum(axis=0) > 0).sum())
        return self.seen.events.sum() >= LEAST_CALLBACKS and months >= LEAST_MONTHS


def standing_on(
    on: date, calls: pl.DataFrame, doors: tuple[pl.DataFrame, pl.DataFrame], settings: pl.DataFrame
) -> Standing | None:
    """What is known on the day; None where no door was out.

    calls  the rows of callback_days that were on paper
    doors  door_spans of the doors known, and the same of doors to come (see planned_doors)
    """
    known, to_come = _at_risk_ever(doors[0].filter(pl.col("started_on") <= on)), _at_risk_ever(doors[1])
    if known.is_empty():
        return None
    grid = grid_to(on, _first(known["from_on"]))
    oldest = int(grid.starts[-1]) - day_number(_first(known["started_on"]))
    cuts = ages_up_to(_days(settings["warranty_months"][0]), oldest)
    daily, delays = doors_at_risk(known, grid, cuts), delays_known(calls, on)
    inside = calls.filter(pl.col("reported_on") >= max(_first(known["from_on"]), day_of(grid.starts[0])))
    past, arrived = _watched(daily, grid, delays)
    events, unplaced, snags, reported = _counts(inside, grid, cuts)
    watched = inside.filter(pl.col("standing") == "watched")
    clumping = clumping_of(watched, settings["repeat_days"][0])
    handed_over = _handed_over(to_come, grid)
    started = int(known.filter(pl.col("started_on") >= day_of(grid.starts[0]))["doors"].sum())
    return Standing(
        grid=grid,
        seen=AgeMonthCounts(past, events, unplaced, doublings(cuts), clumping),
        out=by_month(daily * _staying(known, grid), grid)[:, grid.n_past :],
        to_come=by_month(doors_at_risk(to_come, grid, cuts), grid)[:, grid.n_past :],
        snags_to_come=handed_over * snags / max(started, 1),
        reported=reported,
        arrived=arrived,
        delays=delays,
        known_costs=inside["cost"].drop_nulls().to_numpy(),
        door_error=_door_error((watched, clumping), (known, to_come), (past, events), (grid, cuts)),
    )


def planned_doors(on: date, settings: pl.DataFrame) -> pl.DataFrame:
    """Doors to come as door_spans has them, handed over evenly over the days from `on`; no row without a plan."""
    each_day = (settings["planned_doors_per_month"][0] or 0.0) / DAYS_PER_MONTH
    days = pl.date_range(on + timedelta(days=1), on + timedelta(days=MOST_DAYS_AHEAD), "1d", eager=True)
    planned = pl.DataFrame({"started_on": days, "from_on": days}).with_columns(
        pl.lit(NEVER).alias("removed_on"), pl.lit(NEVER).alias("warranty_on"), pl.lit(each_day).alias("doors")
    )
    warranty = _days(settings["warranty_months"][0]) if settings["log_ends_with_warranty"][0] else None
    if warranty is not None:
        planned = planned.with_columns((pl.col("started_on") + pl.duration(days=warranty)).alias("warranty_on"))
    return planned.filter(pl.col("doors") > 0)


def _at_risk_ever(spans: pl.DataFrame) -> pl.DataFrame:
    return spans.filter(pl.min_horizontal("removed_on", "warranty_on") >= pl.col("from_on"))


def _first(days: pl.Series) -> date:
    return day_of(int(numbers_of(days).min()))


def _days(months: float | None) -> int | None:
    return None if not months else round(months * DAYS_PER_MONTH)


def _handed_over(to_come: pl.DataFrame, grid: MonthGrid) -> Floats:
    """(12,) doors to come by the month of their handover."""
    months = grid.month_of(numbers_of(to_come["started_on"])) - grid.n_past
    is_there = (months >= 0) & (months < MONTHS_AHEAD)
    return np.bincount(months[is_there], to_come["doors"].to_numpy()[is_there], MONTHS_AHEAD).astype(float)


def _door_error(
    calls: tuple[pl.DataFrame, float],
    doors: tuple[pl.DataFrame, pl.DataFrame],
    seen: tuple[Floats, Floats],
    at: tuple[MonthGrid, np.ndarray],
) -> float:
    exposure, events = (part.sum(axis=1) for part in seen)
    if events.sum() < LEAST_CALLBACKS:
        return 0.0
    reached = np.flatnonzero(exposure > 0)
    nearest = reached[np.searchsorted(reached, np.arange(len(exposure))).clip(0, len(reached) - 1)]
    rates = events[nearest] / exposure[nearest] / DAYS_PER_YEAR
    parts = [door_means(part.cast({"doors": pl.Float64}), at[0], rates, at[1]) for part in doors]
    past, ahead, count = (np.concatenate(both) for both in zip(*parts, strict=True))
    out = len(parts[0][0])
    return door_error(frailty_of(*calls, (past[:out], count[:out])), past, ahead, count)


def _watched(daily: Floats, grid: MonthGrid, delays: Delays) -> tuple[Floats, Floats]:
    """(K, M) door-years weighed by the share of their paper that has arrived, and (M,) that share."""
    share = delays.arrived_by(grid.on - grid.days)
    is_past = (grid.days <= grid.on).astype(float)
    on_paper = by_month(daily * share, grid)[:, : grid.n_past]
    whole = by_month(daily * is_past, grid)[:, : grid.n_past].sum(axis=0)
    arrived = np.where(whole > 0, on_paper.sum(axis=0) / np.where(whole > 0, whole, 1.0), 1.0)
    return on_paper, arrived


def _counts(calls: pl.DataFrame, grid: MonthGrid, cuts: np.ndarray) -> tuple[Floats, Floats, int, Floats]:
    """(K, M) callbacks of known age, (M,) without an age, how many snags, and (M,) all of them."""
    months = grid.month_of(numbers_of(calls["reported_on"]))
    reported = np.bincount(months, minlength=grid.n_past).astype(float)
    watched = calls.filter(pl.col("standing") == "watched")
    days = numbers_of(watched["reported_on"])
    ages = np.searchsorted(cuts, days - numbers_of(watched["started_on"]), side="right") - 1
    events = np.zeros((len(cuts), grid.n_past))
    np.add.at(events, (ages, grid.month_of(days)), 1.0)
    is_snag = (calls["standing"] == "snag").to_numpy()
    snags = np.bincount(months[is_snag], minlength=grid.n_past)
    return events, reported - events.sum(axis=0) - snags, int(is_snag.sum()), reported


def _staying(doors: pl.DataFrame, grid: MonthGrid) -> Floats:
    """(days,) share of the doors of today that are still there, by the removals so far."""
    removed = numbers_of(doors["removed_on"])
    last = np.minimum(removed, grid.on)
    count = doors["doors"].to_numpy()
    door_days = float(count @ np.maximum(last - numbers_of(doors["from_on"]), 0))
    rate = float(count @ (removed <= grid.on)) / door_days if door_days > 0 else 0.0
    return np.asarray(np.exp(-rate * (grid.days - grid.on).clip(0)))
