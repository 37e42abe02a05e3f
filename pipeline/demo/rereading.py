"""Doors measured again at a visit: the record then holds what the fault has become, beside what was fitted."""

from dataclasses import replace

import numpy as np
import polars as pl

from pipeline.demo.arrays import Ints
from pipeline.demo.doors import Doors
from pipeline.demo.part import Part
from pipeline.demo.readings import as_written, exact_readings
from pipeline.demo.scenario import Scenario

WORSE = 1.6  # times what it was when fitted
GROWS = (
    "sill_level_error", "sill_bow", "sill_line_bow", "frame_diagonal_difference", "jamb_plumb_error", "jamb_twist",
    "head_parallel_error", "head_bow", "head_gap_spread", "threshold_gap_spread", "side_gap_taper",
    "leaf_drop_rotation", "leaf_drop_racking", "leaf_diagonal_difference", "seal_compression_spread",
)  # fmt: skip


def doors_read_again(callbacks: pl.DataFrame, doors: Doors, scenario: Scenario) -> tuple[Ints, Ints]:
    """Door numbers, in order, and the day of the visit at which each is measured again: its first chosen one."""
    rng = np.random.default_rng([scenario.seed, 6])
    is_chosen = pl.Series(rng.random(callbacks.height) < scenario.reread)
    numbers = doors.installs.select("install_id", "handed_over_on", "fitted_on").with_row_index("door")
    started = pl.coalesce("handed_over_on", "fitted_on")
    chosen = (
        callbacks.filter(is_chosen & callbacks["visited_on"].is_not_null())
        .join(numbers, on="install_id")
        .filter(pl.col("visited_on") > started)
        .group_by("door")
        .agg(pl.col("visited_on").min())
        .sort("door")
    )
    day = chosen["visited_on"].to_physical().to_numpy() - pl.Series([scenario.starts_on]).to_physical()[0]
    return chosen["door"].to_numpy().astype(np.int64), day.astype(np.int64)


def readings_again(part: Part, day: Ints, doors: Doors, scenario: Scenario) -> pl.DataFrame:
    """The readings of those visits, in the columns of the record. day: per door of `part`."""
    rng = np.random.default_rng([scenario.seed, 8])
    worse = {name: values * (WORSE if name in GROWS else 1.0) for name, values in part.true.items()}
    table = exact_readings(replace(part, true=worse), scenario, rng)
    row = np.searchsorted(part.number, table["door"].to_numpy())
    return as_written(table, doors, day[row], scenario, rng)
