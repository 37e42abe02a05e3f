"""The points of control charts over time: doors in the order of fitting, taken together month by month."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.stats.intervals import Floats

LEAST_DOORS = 5  # months with fewer doors wait for the next one
LEAST_POINTS = 6  # a chart with fewer says nothing
FIRST_TESTED = 3  # points that only say how the process is
FALSE_ALARMS_A_YEAR = 0.5  # over all charts of the firm together
SETS = 5  # single points, means that look back, sums of crews, sums of faults, rare faults
SHORTEST_RUN = 100.0  # points to a false alarm, also where few charts would allow more
ALL = "all"

SCHEMA = pl.Schema({
    "crew": pl.String, "subject": pl.String, "step": pl.String, "chart": pl.String, "at": pl.Date, "value": pl.Float64,
    "limit": pl.Float64, "is_out": pl.Boolean, "since": pl.Date, "doors": pl.Int64, "seen": pl.Float64,
    "expected": pl.Float64, "run_length": pl.Float64,
})  # fmt: skip


@dataclass(frozen=True)
class ChartPoints:
    """Which point each door belongs to.

    crews     C names;  chart (n,) number of the door's crew;  point (n,) its point, -1 where its point is not full yet
    begins, ends (C, P) first and last day of fitting of each point; NaT where there is none
    """

    crews: list[str]
    chart: NDArray[np.int64]
    point: NDArray[np.int64]
    begins: NDArray[np.datetime64]
    ends: NDArray[np.datetime64]

    def summed(self, values: Floats) -> Floats:
        """(C, P) sums of door values (n,) by point; nan counts as nothing."""
        kept = (self.point >= 0) & np.isfinite(values)
        place = self.chart[kept] * self.ends.shape[1] + self.point[kept]
        return np.bincount(place, values[kept], self.ends.size).astype(float).reshape(self.ends.shape)


def chart_points(crews: pl.Series, fitted_on: pl.Series) -> ChartPoints:
    """Months of fitting of each crew, neighbours joined until they hold LEAST_DOORS doors."""
    months = pl.DataFrame({"crew": crews, "day": fitted_on, "month": fitted_on.dt.truncate("1mo")})
    names = crews.unique().sort().to_list()
    counts = months.group_by("crew", "month").len().sort("crew", "month")
    numbered = counts.with_columns(pl.Series("point", _joined(counts), dtype=pl.Int64))
    placed = months.join(numbered, on=["crew", "month"], how="left", maintain_order="left")
    chart = placed["crew"].replace_strict(names, range(len(names)), return_dtype=pl.Int64).to_numpy()
    point = placed["point"].to_numpy()
    shape = (len(names), int(point.max(initial=-1)) + 1)
    begins, ends = np.full(shape, "NaT", "datetime64[D]"), np.full(shape, "NaT", "datetime64[D]")
    spans = placed.with_columns(chart=chart).filter(pl.col("point") >= 0).group_by("chart", "point")
    for row in spans.agg(pl.col("day").min().alias("first"), pl.col("day").max().alias("last")).iter_rows(named=True):
        begins[row["chart"], row["point"]], ends[row["chart"], row["point"]] = row["first"], row["last"]
    return ChartPoints(names, chart, point, begins, ends)


def _joined(counts: pl.DataFrame) -> list[int]:
    points: list[int] = []
    point, held, before = 0, 0, None
    for crew, doors in counts.select("crew", "len").iter_rows():
        if crew != before:
            _put_back(points, held)
            point, held, before = 0, 0, crew
        points.append(point)
        held += doors
        if held >= LEAST_DOORS:
            point, held = point + 1, 0
    _put_back(points, held)
    return points


def _put_back(points: list[int], held: int) -> None:
    """The last months of a crew wait where they are too few for a point."""
    last = points[-1] if points else 0
    for i in range(len(points) - 1, -1, -1):
        if not held or points[i] != last:
            return
        points[i] = -1


def tested(scores: Floats) -> Floats:
    """The scores (C, P) without the first points of each chart, and without charts that have too few."""
    seen = np.cumsum(np.isfinite(scores), axis=1)
    enough = (seen > FIRST_TESTED - 1) & (seen[:, -1:] >= LEAST_POINTS - 1) if scores.size else seen > 0
    return np.where(enough, scores, np.nan)


def run_length_for(tested_points: int, years: float) -> float:
    """The in-control run length, in points, that keeps one set of charts within its part of the false alarms.

    Each of the SETS has an equal part of FALSE_ALARMS_A_YEAR, shared by its charts by their points.
    """
    return max(tested_points / max(years, 1.0) / (FALSE_ALARMS_A_YEAR / SETS), SHORTEST_RUN)


def years_between(first: date, last: date) -> float:
    """Years of 365.25 days."""
    return (last - first).days / 365.25
