"""through_steps: how much of a crew's callbacks went through each step that was measured, given the steps before it.

grain: one row per crew and step with a cause recorded, and one row `all` for all steps together
key: crew, step
columns:
  crew        text    part of the key
  step        text    part of the key; `all` is all steps together
  step_order  integer place of the step in the order of the work; 0 for `all`
  ratio       double  callbacks that the crew's doors were to bring, against the firm's, for how the step was done on
                      them and what that led to; 1 is as the firm; the steps of a crew multiply to its row `all`
  low         double  lower end of its 95 % interval
  high        double  upper end
  log_error   double  standard error of its logarithm
  deviation   text    the cause of the step that adds most to it; empty for `all`

What was not measured, and what instruments blur, is not in it. Source of the method: design notes in DEVELOPERS.md,
"What the numbers mean".
"""

import numpy as np
import polars as pl

from pipeline.model.risk import answered_episodes, first_faults, watched_doors
from pipeline.model.steps_of_crews import CrewSteps, crew_steps
from pipeline.model.study import study_of
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.intervals import Floats

ALL = "all"
SCHEMA = {
    "crew": pl.String, "step": pl.String, "step_order": pl.Int64, "ratio": pl.Float64, "low": pl.Float64,
    "high": pl.Float64, "log_error": pl.Float64, "deviation": pl.String,
}  # fmt: skip


def build(
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
) -> pl.DataFrame:
    """One row per crew and step; none where there is one crew only, or too little to tell."""
    watched = watched_doors(door_time)
    crews = watched.crews.unique(maintain_order=True)
    if len(crews) < 2:
        return pl.DataFrame(schema=SCHEMA)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched, staged_installs, door_values, door_limits, catalogue, settings)
    counts = answered_episodes(episodes).group_by("fault").len().sort("fault")
    faults = {fault: (first_faults(watched, episodes, fault), n) for fault, n in counts.iter_rows()}
    with one_blas_thread():
        found = crew_steps(study, faults)
    if found is None:
        return pl.DataFrame(schema=SCHEMA)
    orders = {place.step: place.step_order for place in study.firm.places.values()}
    rows = [_rows(crews, ALL, 0, (found.ratios[-1], found.draws[-1]))]
    for number, step in enumerate(found.steps, start=1):
        ratio = found.ratios[number] / found.ratios[number - 1]
        draws = found.draws[number] / found.draws[number - 1]
        rows.append(_rows(crews, step, orders[step], (ratio, draws)).with_columns(deviation=_leading(found, number)))
    return pl.concat(rows).sort("crew", "step_order")


def _leading(found: CrewSteps, number: int) -> pl.Series:
    return pl.Series([found.causes[cause] for cause in found.leading[number - 1]], dtype=pl.String)


def _rows(crews: pl.Series, step: str, order: int, found: tuple[Floats, Floats]) -> pl.DataFrame:
    ratio, draws = found
    low, high = np.quantile(draws, [0.025, 0.975], axis=0)
    columns = {
        "crew": crews, "step": [step] * len(crews), "step_order": [order] * len(crews), "ratio": ratio, "low": low,
        "high": high, "log_error": np.log(draws).std(axis=0), "deviation": [None] * len(crews),
    }  # fmt: skip
    return pl.DataFrame(columns, schema=SCHEMA)
