"""signal_points: every point of every control chart of the firm, with the limit that it is held against.

Each point is compared with its own past: while nothing changes it lies around 0, whoever the crew is. Limits are set
so that all charts of the firm together alarm falsely once in two years, each kind of chart (individuals, ewma, cusum,
rare) having an equal part.

grain: one row per chart and point
key: crew, subject, chart, at
left out: months whose paper is not complete; the last doors of a crew until they fill a point
columns:
  crew        text     part of the key; `all` is the firm
  subject     text     part of the key; a deviation (individuals), a step (ewma), callbacks or a fault (cusum, rare)
  step        text     step of the work; empty for callbacks
  chart       text     part of the key; individuals, ewma, cusum or rare
  at          date     part of the key; last day of the point
  value       double   individuals, rare: standard errors above the past; ewma: their weighted mean; cusum: sum of log
                       likelihood ratios for 1.5 times as many callbacks. Empty where the past is too short
  limit       double   above which the chart alarms
  is_out      boolean  it does; ewma and cusum begin anew after it
  since       date     first day of the rise that the point stands at the end of
  doors       integer  doors fitted behind the point; empty for callbacks
  seen        double   callbacks in the point; empty for deviations
  expected    double   callbacks that its doors should have brought, age, door and month allowed for
  run_length  double   points until a false alarm, on average

Sources: see stats/control_charts.py, stats/cusum.py and stats/run_lengths.py.
"""

import numpy as np
import polars as pl

from pipeline.model.adjusters import Place, places
from pipeline.model.callback_charts import crew_sums, fault_sums, log_of, rare_gaps
from pipeline.model.callbacks_expected import steady_columns
from pipeline.model.chart_points import ALL, SCHEMA, ChartPoints, chart_points, years_between
from pipeline.model.deviation_charts import Chart, chart_of, looking_back, single_points
from pipeline.model.door_matrix import door_matrix
from pipeline.model.door_scores import DoorScores, deviation_scores, step_scores
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.intervals import Floats


def build(
    staged_installs: pl.DataFrame,
    door_values: pl.DataFrame,
    door_time: pl.DataFrame,
    episodes: pl.DataFrame,
    callback_months: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
) -> pl.DataFrame:
    """All points of all charts."""
    parts = [pl.DataFrame(schema=SCHEMA)]
    log = log_of(door_time, episodes, callback_months)
    with one_blas_thread():
        if staged_installs.height:
            parts += _of_deviations(staged_installs, door_values, catalogue_deviations)
        if log is not None:
            parts += [crew_sums(log, staged_installs), fault_sums(log), rare_gaps(log)]
    return pl.concat(parts).sort("chart", "crew", "subject", "at")


def _of_deviations(installs: pl.DataFrame, values: pl.DataFrame, catalogue: pl.DataFrame) -> list[pl.DataFrame]:
    doors = installs.sort("crew", "fitted_on", "install_id")
    by_name = {name: place for name, place in places(catalogue).items() if place.role == "cause"}
    matrix = door_matrix(values, doors["install_id"], catalogue.height)
    covariates = steady_columns(doors, installs)
    scores = {name: deviation_scores(_turned(matrix, place), place, covariates) for name, place in by_name.items()}
    known = {name: found for name, found in scores.items() if found is not None}
    firm = chart_points(pl.repeat(ALL, doors.height, eager=True), doors["fitted_on"])
    sets = [chart_points(doors["crew"], doors["fitted_on"]), firm]
    years = years_between(doors["fitted_on"].min(), doors["fitted_on"].max())  # type: ignore[arg-type]
    single = [
        chart_of(name, by_name[name].step, points, found, is_exact=True)
        for points in sets
        for name, found in known.items()
    ]
    back = [chart for points in sets for chart in _of_steps(known, by_name, points)]
    return [single_points(single, years), looking_back(back, years)]


def _turned(matrix: Floats, place: Place) -> Floats:
    """The deviation's column; of one worse on both sides the distance from the firm's median."""
    column = matrix[:, place.ordinal]
    if place.worse != "both" or not np.isfinite(column).any():
        return column
    return np.asarray(np.abs(column - np.nanmedian(column)))


def _of_steps(known: dict[str, DoorScores], by_name: dict[str, Place], points: ChartPoints) -> list[Chart]:
    charts = []
    for step in dict.fromkeys(by_name[name].step for name in known):
        found = step_scores([scores for name, scores in known.items() if by_name[name].step == step])
        if found is not None:
            charts.append(chart_of(step, step, points, found, is_exact=False))
    return charts
