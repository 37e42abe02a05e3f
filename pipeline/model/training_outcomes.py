"""The two outcomes by which training is judged, door by door: what was counted and what the door makes likely."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.model.callbacks_expected import CREW_PRECISION, door_risk, steady_columns, watch_of
from pipeline.model.risk import DAYS_PER_YEAR, answered_episodes, crew_numbers
from pipeline.stats.hazards import HazardData, NoEventsError, Prior, fit_hazard
from pipeline.stats.intervals import Floats


@dataclass(frozen=True)
class Outcome:
    """doors: crew, fitted_on, sorted by crew; events (n,) and expected (n,), over 0, in the same order."""

    doors: pl.DataFrame
    events: Floats
    expected: Floats


def out_of_limits(door_steps: pl.DataFrame, installs: pl.DataFrame, step: str) -> Outcome | None:
    """Doors with anything recorded in the step: out or not, and how often a door like it is."""
    own = door_steps.filter(pl.col("step") == step).select("install_id", "is_out")
    doors = installs.join(own, on="install_id").sort("crew", "install_id")
    if not doors.height:
        return None
    columns = steady_columns(doors, installs)
    events = doors["is_out"].cast(pl.Float64).to_numpy()
    groups = crew_numbers(doors["crew"])
    try:
        data = HazardData(columns.matrix, np.ones((doors.height, 1)), events[:, None], groups)
        fit = fit_hazard(data, Prior(columns.precision, CREW_PRECISION))
    except NoEventsError:
        return None
    return Outcome(doors, events, np.exp(fit.baseline[0] + columns.matrix @ fit.beta))


def callbacks_of(
    faults: set[str], door_time: pl.DataFrame, episodes: pl.DataFrame, installs: pl.DataFrame
) -> Outcome | None:
    """Doors ever at risk: episodes of these faults that crews answer for, and how many a door like it has by its age.

    faults  none: no outcome
    """
    joined = door_time.filter(pl.col("door_years") > 0).join(
        installs.select("install_id", "fitted_on"), on="install_id"
    )
    doors = joined.sort("crew", "install_id")
    calls = (
        answered_episodes(episodes)
        .filter(pl.col("fault").is_in(sorted(faults)))
        .join(doors.select("install_id").with_row_index("row"), on="install_id")
    )
    if not doors.height or not calls.height:
        return None
    watch, rows = watch_of(doors), calls["row"].to_numpy().astype(np.int64)
    risk = door_risk(watch, steady_columns(doors, installs), rows, calls["age_days"].to_numpy() / DAYS_PER_YEAR)
    if risk is None:
        return None
    expected = risk.grown(watch.ages(watch.ends)) - risk.grown(watch.ages(watch.begins))
    return Outcome(doors, np.bincount(rows, minlength=doors.height).astype(float), np.maximum(expected, 1e-6))


def linked_faults(catalogue_pairs: pl.DataFrame, catalogue_deviations: pl.DataFrame) -> dict[str, set[str]]:
    """The faults that the trade expects of each step's deviations."""
    steps = catalogue_pairs.join(catalogue_deviations.select(deviation="name", step="step"), on="deviation")
    return {step: set(part["fault"]) for (step,), part in steps.partition_by("step", as_dict=True).items()}
