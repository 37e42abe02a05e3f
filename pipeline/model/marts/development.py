"""development: the second opinion on the outlook, a chain ladder of callbacks by quarter of handover and age.

Periods are counted back from the records' last day, so that the latest one is whole. A cohort is what was handed over
in one period, an age the periods since; callbacks are cumulated, each counting for the paper of its day that has not
arrived. Ages that no cohort has reached yet bring, period for period, what the last ones known brought. Callbacks
without a known door are spread over the cohorts in proportion. It knows no season, no removals, no doors to come, and
leaves out doors handed over before the callback log was complete.

grain: one row per cohort, oldest first, and one row `total`; no row where the log is too short
key: cohort
columns:
  cohort           text     first day of the cohort's period, YYYY-MM-DD; or total
  doors            integer  doors handed over in it
  callbacks        double   callbacks so far, corrected for late paper
  to_come          double   callbacks of the coming twelve months by the chain ladder
  standard_error   double   Mack's, cohort by cohort and for the total; empty where the chain ladder has no age to go
  low              double   lower end of the 95 % interval (log-normal)
  high             double   upper end
  months_a_period  integer  3, or 6 where a quarter sees too few callbacks

Source: Mack (1993), ASTIN Bulletin 23, 213-225.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl

from pipeline.model.days import day_number, numbers_of
from pipeline.model.late_paper import delays_known
from pipeline.stats.chain_ladder import Ladder, chain_ladder
from pipeline.stats.intervals import Z95, Floats

LEAST_CALLBACKS, LEAST_PERIODS = 60, 5
ENOUGH_A_CELL = 5  # callbacks per cohort and quarter of age on average, below which half-years are taken
LEAST_ARRIVED = 0.3
SCHEMA = {
    "cohort": pl.String, "doors": pl.Int64, "callbacks": pl.Float64, "to_come": pl.Float64,
    "standard_error": pl.Float64, "low": pl.Float64, "high": pl.Float64, "months_a_period": pl.Int64,
}  # fmt: skip


def build(callback_days: pl.DataFrame, door_spans: pl.DataFrame, settings: pl.DataFrame) -> pl.DataFrame:
    """One row per cohort and the total."""
    as_of = settings["as_of"][0]
    doors = door_spans.filter((pl.col("from_on") == pl.col("started_on")) & (pl.col("started_on") <= as_of))
    calls = _weighed(callback_days, as_of)
    for months in (3, 6):
        found = _table(doors, calls, as_of, months)
        if found is not None:
            return found
    return pl.DataFrame(schema=SCHEMA)


def _weighed(calls: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """Callbacks after handover with the number that each stands for; without a door, started_on is null."""
    arrived = delays_known(calls, as_of).arrived_by(day_number(as_of) - numbers_of(calls["reported_on"]))
    weight = pl.Series("weight", 1 / np.maximum(arrived, LEAST_ARRIVED))
    return calls.with_columns(weight).filter(pl.col("standing") != "snag")


def _table(doors: pl.DataFrame, calls: pl.DataFrame, as_of: date, months: int) -> pl.DataFrame | None:
    """The table by periods of so many months; None where they see too little."""
    cut = Periods(as_of, months)
    n = int(cut.ago(doors["started_on"]).max()) if doors.height else 0  # the oldest period is not whole
    if n < LEAST_PERIODS:
        return None
    counts, scale = _counts(calls.join(doors.select("started_on").unique(), on="started_on"), cut, n), _scale(calls)
    if counts.sum() < LEAST_CALLBACKS or (months == 3 and counts.sum() < ENOUGH_A_CELL * n * (n + 1) / 2):
        return None
    is_seen = np.add.outer(np.arange(n), np.arange(n)) < n
    try:
        ladder = chain_ladder(np.where(is_seen, np.cumsum(counts, axis=1), np.nan) * scale, 12 // months)
    except ValueError:
        return None
    ago = cut.ago(doors["started_on"])
    handed_over = np.bincount(n - 1 - ago[ago < n], doors["doors"].to_numpy()[ago < n], n)
    starts = [f"{cut.first_day(n - 1 - place)}" for place in range(n)]
    return _rows(ladder, starts, handed_over.astype(float), months)


@dataclass(frozen=True)
class Periods:
    """Periods of so many calendar months, counted back from the last day."""

    last_day: date
    months: int

    def ago(self, days: pl.Series) -> np.ndarray:
        """How many periods before the last one each day lies."""
        next_day = self.last_day + timedelta(days=1)
        months = 12 * (next_day.year - days.dt.year()) + next_day.month - days.dt.month().cast(pl.Int64)
        begun = months - (days.dt.day() >= next_day.day).cast(pl.Int64)
        return np.asarray(begun.to_numpy() // self.months)

    def first_day(self, ago: int) -> date:
        """The day on which that period began."""
        next_day = self.last_day + timedelta(days=1)
        month = next_day.year * 12 + next_day.month - 1 - (ago + 1) * self.months
        return date(month // 12, month % 12 + 1, 1) + timedelta(days=next_day.day - 1)


def _counts(placed: pl.DataFrame, cut: Periods, n: int) -> Floats:
    """(n, n) callbacks by cohort, oldest first, and age in periods."""
    cohort, now = cut.ago(placed["started_on"]), cut.ago(placed["reported_on"])
    is_in = cohort < n
    counts = np.zeros((n, n))
    np.add.at(counts, (n - 1 - cohort[is_in], (cohort - now)[is_in]), placed["weight"].to_numpy()[is_in])
    return counts


def _scale(calls: pl.DataFrame) -> float:
    """All callbacks over those with a known door."""
    weight, is_placed = calls["weight"].to_numpy(), (calls["standing"] == "watched").to_numpy()
    return float(weight.sum() / weight[is_placed].sum()) if is_placed.any() else 1.0


def _beyond(ladder: Ladder, ages_ahead: int) -> Floats:
    """What each cohort brings at ages that none has reached, a period like the last ones known."""
    n = len(ladder.reached)
    grown = np.concatenate([[1.0], np.cumprod(ladder.factors)])
    each = (grown[-1] - grown[-1 - ages_ahead]) / ages_ahead / grown[-1]
    return np.asarray(ladder.target * each * np.maximum(ages_ahead - np.arange(n), 0))


def _rows(ladder: Ladder, starts: list[str], doors: Floats, months: int) -> pl.DataFrame:
    known, beyond = ladder.to_come, _beyond(ladder, 12 // months)
    to_come = np.append(known + beyond, (known + beyond).sum())
    # where an age is beyond the triangle, its error is taken to be in proportion
    stretch = to_come / np.maximum(np.append(known, known.sum()), 1e-9)
    error = np.append(ladder.errors, ladder.error) * np.where(np.append(known, known.sum()) > 0, stretch, 0.0)
    has_error = (to_come > 0) & (error > 0)
    sd = np.sqrt(np.log1p((error / np.where(to_come > 0, to_come, 1.0)) ** 2))
    low, high = (np.where(has_error, to_come * np.exp(z * sd - sd**2 / 2), np.nan) for z in (-Z95, Z95))
    return pl.DataFrame(
        {
            "cohort": [*starts, "total"],
            "doors": np.append(doors, doors.sum()).astype(np.int64),
            "callbacks": np.append(ladder.reached, ladder.reached.sum()),
            "to_come": to_come,
            "standard_error": np.where(has_error, error, np.nan),
            "low": low,
            "high": high,
            "months_a_period": [months] * len(to_come),
        },
        schema=SCHEMA,
    ).with_columns(pl.col("standard_error", "low", "high").fill_nan(None))
