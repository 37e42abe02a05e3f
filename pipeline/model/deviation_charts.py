"""Charts of what was measured: single points for each deviation, a mean that looks back for each step of the work."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.model.chart_points import SCHEMA, ChartPoints, run_length_for, tested
from pipeline.model.door_scores import DoorScores
from pipeline.stats.control_charts import moving_range_factor, scores_against_past, share_scores, upward_ewma
from pipeline.stats.intervals import Floats
from pipeline.stats.run_lengths import ewma_run_length, limit_for, shewhart_run_length

WEIGHT = 0.15  # of the newest point in a mean that looks back
CREW_WEIGHT = 50  # doors that the firm's spread counts for beside a crew's own


@dataclass(frozen=True)
class Chart:
    """One subject over all crews of a set of points: scores (C, P) against the past, doors (C, P) behind each."""

    subject: str
    step: str
    points: ChartPoints
    scores: Floats
    doors: Floats


def chart_of(subject: str, step: str, points: ChartPoints, scores: DoorScores, is_exact: bool) -> Chart:
    """The subject's points, each compared with those before it.

    is_exact  for yes or no: whether a single point decides (see share_scores)
    """
    doors = points.summed(np.where(np.isfinite(scores.values), 1.0, np.nan))
    sums = points.summed(scores.values)
    if scores.is_yes_no:
        against = share_scores(sums.astype(np.int64), doors.astype(np.int64), is_exact)
    else:
        with np.errstate(divide="ignore", invalid="ignore"):
            means = np.where(doors > 0, sums / doors, np.nan)
            variances = _spread(points, scores.values)[:, None] ** 2 / doors
        factor = max(1.0, moving_range_factor(means, variances))
        against = scores_against_past(means, variances * factor**2)
    return Chart(subject, step, points, tested(against), doors)


def _spread(points: ChartPoints, values: Floats) -> Floats:
    """(C,) standard deviation within each crew, drawn towards the firm's where its doors are few."""
    kept = np.isfinite(values)
    crews, charts = points.chart[kept], len(points.crews)
    n = np.bincount(crews, minlength=charts)
    mean = np.bincount(crews, values[kept], charts) / np.maximum(n, 1)
    squares = np.bincount(crews, (values[kept] - mean[crews]) ** 2, charts)
    firm = squares.sum() / max(n.sum() - charts, 1)
    return np.asarray(np.sqrt((squares + CREW_WEIGHT * firm) / np.maximum(n - 1 + CREW_WEIGHT, 1)))


def single_points(charts: list[Chart], years: float) -> pl.DataFrame:
    """Charts of individual points, limits from the firm's part of false alarms."""
    length = run_length_for(_points(charts), years)
    limit = limit_for(lambda width: shewhart_run_length(width, is_two_sided=False), length, 1.0, 7.5)
    parts = []
    for chart in charts:
        own = np.broadcast_to(np.arange(chart.scores.shape[1]), chart.scores.shape)
        parts.append(_rows(chart, "individuals", chart.scores, chart.scores > limit, own, (limit, length)))
    return pl.concat([pl.DataFrame(schema=SCHEMA), *parts])


def looking_back(charts: list[Chart], years: float) -> pl.DataFrame:
    """Exponentially weighted means, held at 0, begun anew after an alarm."""
    length = run_length_for(_points(charts), years)
    unit = (WEIGHT / (2 - WEIGHT)) ** 0.5
    limit = limit_for(lambda height: ewma_run_length(WEIGHT, height), length, unit, 6 * unit)
    parts = []
    for chart in charts:
        path, alarms, since = upward_ewma(chart.scores, WEIGHT, limit)
        parts.append(_rows(chart, "ewma", path, alarms, since, (limit, length)))
    return pl.concat([pl.DataFrame(schema=SCHEMA), *parts])


def _points(charts: list[Chart]) -> int:
    return int(sum(np.isfinite(chart.scores).sum() for chart in charts))


def _rows(
    chart: Chart, kind: str, values: Floats, alarms: np.ndarray, since: np.ndarray, limit: tuple[float, float]
) -> pl.DataFrame:
    """One row per point with doors; value empty where it was too early to test."""
    crew, point = np.nonzero(chart.doors > 0)
    begins = chart.points.begins[crew, since[crew, point]]
    columns = {
        "crew": pl.Series([chart.points.crews[i] for i in crew], dtype=pl.String),
        "at": pl.Series(chart.points.ends[crew, point]).cast(pl.Date),
        "value": pl.Series(values[crew, point]).fill_nan(None),
        "is_out": pl.Series(alarms[crew, point]),
        "since": pl.Series(begins).cast(pl.Date),
        "doors": pl.Series(chart.doors[crew, point].astype(np.int64)),
    }
    return pl.DataFrame(columns).with_columns(
        pl.lit(chart.subject).alias("subject"),
        pl.lit(chart.step).alias("step"),
        pl.lit(kind).alias("chart"),
        pl.lit(limit[0]).alias("limit"),
        pl.lit(limit[1]).alias("run_length"),
        pl.lit(None, dtype=pl.Float64).alias("seen"),
        pl.lit(None, dtype=pl.Float64).alias("expected"),
    ).select(list(SCHEMA)).cast(SCHEMA)  # fmt: skip
