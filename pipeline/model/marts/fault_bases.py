"""fault_bases: each fault fitted on the door, the crew and all deviations together, where the fit of every pair begins.

grain: one row per fault with 10 first callbacks or more
key: fault
columns:
  fault         text      key
  crew_sd       double    standard deviation of crew intercepts on the log hazard, given the door
  baseline      double[]  log hazard a year in each interval of age
  names         text[]    columns of the fit
  coefficients  double[]  their log hazard ratios, in the order of names
  crew_effects  double[]  log ratios of the crews at risk, by name

Source of the method: DEVELOPERS.md, "What the numbers mean".
"""

from typing import Any

import polars as pl

from pipeline.model.bases import fitted_bases, kept_base
from pipeline.model.risk import first_faults, watched_doors
from pipeline.model.study import study_of
from pipeline.stats.blas import one_blas_thread

SCHEMA: dict[str, Any] = {
    "fault": pl.String, "crew_sd": pl.Float64, "baseline": pl.List(pl.Float64), "names": pl.List(pl.String),
    "coefficients": pl.List(pl.Float64), "crew_effects": pl.List(pl.Float64),
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
    """One row per fault that can be studied."""
    watched = watched_doors(door_time)
    if watched.install_ids.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched, staged_installs, door_values, door_limits, catalogue, settings)
    faults = {name: first_faults(watched, episodes, name) for name in sorted(episodes["fault"].unique())}
    with one_blas_thread():
        bases = fitted_bases(study, faults)
    return pl.DataFrame([kept_base(name, base) for name, base in bases.items() if base], schema=SCHEMA)
