"""Doors at risk by age and calendar month, as one day knew them, the twelve months after it included."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from pipeline.model.days import Ints, day_number, day_of, numbers_of
from pipeline.model.risk import DAYS_PER_YEAR
from pipeline.stats.intervals import Floats

MONTHS_AHEAD = 12
MOST_MONTHS = 120  # what lies further back says little of next year
# Days of age where an interval begins: half a doubling each, as rates of callbacks fall by ratios.
AGE_CUTS = np.array([0, 31, 46, 61, 92, 122, 183, 244, 365, 487, 730, 974, 1461, 1948, 2922, 3896, 5844])


@dataclass(frozen=True)
class MonthGrid:
    """Calendar months, the last of them the one of `on`, and twelve ahead.

    starts  (M + 13,) day numbers on which the months begin, the end of the last included
    on      day number of the last day known
    """

    starts: Ints
    on: int

    @property
    def n_past(self) -> int:
        """M, the months seen, the one of `on` included."""
        return len(self.starts) - 1 - MONTHS_AHEAD

    @property
    def days(self) -> Ints:
        """All day numbers from the first month to the last one ahead."""
        return np.arange(self.starts[0], self.starts[-1])

    def month_of(self, days: Ints) -> Ints:
        """Index of each day's month; below 0 before the first."""
        return np.searchsorted(self.starts, days, side="right") - 1

    def names(self) -> list[str]:
        """YYYY-MM of each month."""
        return [f"{day_of(start):%Y-%m}" for start in self.starts[:-1]]


def grid_to(on: date, first: date) -> MonthGrid:
    """Months from the one of `first`, ten years back at most, to twelve after the one of `on`."""
    last = on.year * 12 + on.month - 1
    begin = max(first.year * 12 + first.month - 1, last - MOST_MONTHS + 1)
    months = range(min(begin, last), last + MONTHS_AHEAD + 2)
    return MonthGrid(np.array([day_number(date(m // 12, m % 12 + 1, 1)) for m in months]), day_number(on))


def ages_up_to(warranty_days: int | None, oldest: int) -> Ints:
    """The days of age where intervals begin: none that no door reaches, and one at the end of the warranty."""
    cuts = AGE_CUTS if warranty_days is None else np.append(AGE_CUTS, warranty_days)
    return np.unique(cuts[cuts <= max(oldest, 0)])


def doublings(cuts: Ints) -> Floats:
    """(K,) doublings of age at the middle of each interval; the last one goes on for a third more."""
    ends = np.append(cuts[1:], cuts[-1] * 4 / 3 + 31)
    return np.asarray(np.log2(np.sqrt(np.maximum(cuts, 10.0) * ends)))


def doors_at_risk(spans: pl.DataFrame, grid: MonthGrid, cuts: Ints) -> Floats:
    """(K, days) doors at risk on each day by age interval.

    spans  door_spans: both ends count as days at risk, as a callback on either does; removals after `on` are not known
    """
    started, begin = numbers_of(spans["started_on"]), numbers_of(spans["from_on"])
    removed, warranty = numbers_of(spans["removed_on"]), numbers_of(spans["warranty_on"])
    last = np.minimum(np.where(removed > grid.on, grid.starts[-1], removed), warranty)
    count, first_day, n_days = spans["doors"].to_numpy(), grid.starts[0], grid.starts[-1] - grid.starts[0]
    change = np.zeros((len(cuts), n_days + 1))
    for k, (young, old) in enumerate(zip(cuts, [*cuts[1:], 10**7], strict=True)):
        enter = np.clip(np.maximum(begin, started + young) - first_day, 0, n_days)
        leave = np.clip(np.minimum(last + 1, started + old) - first_day, 0, n_days)
        is_there = leave > enter
        np.add.at(change[k], enter[is_there], count[is_there])
        np.add.at(change[k], leave[is_there], -count[is_there])
    return np.cumsum(change, axis=1)[:, :-1]


def by_month(daily: Floats, grid: MonthGrid) -> Floats:
    """(K, M + 12) door-years from (K, days) doors at risk."""
    edges = np.append(grid.starts[:-1] - grid.starts[0], daily.shape[1])
    sums = np.concatenate([np.zeros((len(daily), 1)), np.cumsum(daily, axis=1)], axis=1)
    return np.asarray(np.diff(sums[:, edges], axis=1) / DAYS_PER_YEAR)
