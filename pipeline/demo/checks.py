"""The record `checks`: what was ticked off, per leaf where the catalogue says so."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from pipeline.catalogue.rows import Catalogue, Check
from pipeline.demo.arrays import Flags, Floats, Ints
from pipeline.demo.doors import Doors
from pipeline.demo.scenario import Scenario

CHECK_COLUMNS = ["install_id", "check", "member", "outcome", "checked_on"]


def checks_record(
    doors: Doors, true: dict[str, Floats], catalogue: Catalogue, scenario: Scenario, rng: np.random.Generator
) -> pl.DataFrame:
    """The record `checks`, in order of door; the checks of one step are on record together or not at all."""
    is_kept = {
        step: rng.random(len(doors.crew)) < scenario.sections.get("checks", scenario.recorded)
        for step in catalogue.steps
    }
    tables = []
    for check in catalogue.checks:
        kept = np.flatnonzero(is_kept[check.step])
        kept = kept[~_left_out(true[check.name][kept], doors.crew[kept], scenario, rng)]
        maker = _per_leaf if check.per_leaf else _per_door
        tables.append(maker(check, kept, doors, true[check.name]))
    table = pl.concat(tables).sort("door", maintain_order=True)
    door = table["door"].to_numpy()
    return table.with_columns(
        doors.installs["install_id"].gather(door),
        pl.when("failed").then(pl.lit("fail")).otherwise(pl.lit("pass")).alias("outcome"),
        doors.installs["fitted_on"].gather(door).alias("checked_on"),
    ).select(CHECK_COLUMNS)


def _left_out(share: Floats, crew: Ints, scenario: Scenario, rng: np.random.Generator) -> Flags:
    """Failed checks that nobody ticked."""
    if not scenario.leaves_out_failed:
        return np.zeros(len(share), dtype=bool)
    return (share > 0) & (crew > 0) & (rng.random(len(share)) < scenario.leaves_out_failed)


def _per_door(check: Check, kept: Ints, doors: Doors, share: Floats) -> pl.DataFrame:
    return _table(check, kept, [None] * len(kept), share[kept] > 0.5)


def _per_leaf(check: Check, kept: Ints, doors: Doors, share: Floats) -> pl.DataFrame:
    leaves = doors.column("leaves").astype(np.int64)[kept]
    door = np.repeat(kept, leaves)
    ordinal = np.arange(len(door)) - np.repeat(np.cumsum(leaves) - leaves, leaves)
    failed = np.round(share[kept] * leaves).astype(np.int64)
    # the first leaves fail in one door, later ones in the next: turned by the door's number
    turned = (ordinal + door) % np.repeat(leaves, leaves)
    return _table(check, door, [f"leaf_{i + 1}" for i in ordinal], turned < np.repeat(failed, leaves))


def _table(check: Check, door: Ints, member: Sequence[str | None], failed: Flags) -> pl.DataFrame:
    columns = {"door": door, "check": [check.name] * len(door), "member": member, "failed": failed}
    return pl.DataFrame(
        columns, schema={"door": pl.Int64, "check": pl.String, "member": pl.String, "failed": pl.Boolean}
    )
