"""Crews whose records are not what was measured: copied jambs, flat sills, values just inside a limit; and one that
only rounds, which is no dishonesty and must not be taken for it.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import polars as pl

from pipeline.demo.arrays import Flags, Floats
from pipeline.demo.doors import Doors
from pipeline.demo.habits import copied_jambs, rounded_to_mm
from pipeline.demo.part import Part
from pipeline.demo.readings import KIND_OF, KINDS
from pipeline.demo.scenario import Scenario

# What the deviation behind a measure may be, mm: as the catalogue's limits in use.
LIMITED = {
    "sill_height": ("sill_level_error", 3.0),
    "clear_height": ("head_parallel_error", 3.0),
    "jamb_face": ("jamb_plumb_error", 3.0),
    "jamb_edge": ("jamb_plumb_error", 3.0),
    "frame_diagonal": ("frame_diagonal_difference", 3.0),
}
JUST_INSIDE = (0.85, 0.97)  # of the limit


@dataclass(frozen=True)
class Habit:
    """One crew's habit; share: of its doors (heaped: of its values beyond a limit)."""

    crew: str
    kind: Literal["copied", "flat", "heaped", "rounded"]
    share: float


def habits(scenario: Scenario, crews: list[str]) -> tuple[Habit, ...]:
    """A crew of its own for each habit that the scenario switches on."""
    order = np.random.default_rng([scenario.seed, 10]).permutation(len(crews))
    planted = (
        ("copied", scenario.copied), ("flat", scenario.flat), ("heaped", scenario.heaped),
        ("rounded", float(scenario.rounds)),
    )  # fmt: skip
    return tuple(
        Habit(crews[crew], kind, share)  # type: ignore[arg-type]
        for crew, (kind, share) in zip(order, planted, strict=False)
        if share > 0
    )


def with_habits(readings: pl.DataFrame, part: Part, doors: Doors, kept: tuple[Habit, ...]) -> pl.DataFrame:
    """The readings of some doors as their crews wrote them down."""
    for number, habit in enumerate(kept):
        rng = np.random.default_rng([int(part.number[0]), number, 11])
        if habit.kind == "copied":
            readings = copied_jambs(readings, habit.crew, habit.share, rng)
        elif habit.kind == "rounded":
            readings = rounded_to_mm(readings, habit.crew)
        elif habit.kind == "flat":
            readings = _flat(readings, _own(part, doors, habit, rng), doors, part)
        else:
            readings = _heaped(readings, _own(part, doors, habit, rng), doors, part)
    return readings


def _own(part: Part, doors: Doors, habit: Habit, rng: np.random.Generator) -> Flags:
    """The doors of the part on which the crew has its habit."""
    is_own = (doors.installs["crew"] == habit.crew).to_numpy()[part.number]
    return is_own & (rng.random(len(part.number)) < habit.share)


def _flat(readings: pl.DataFrame, own: Flags, doors: Doors, part: Part) -> pl.DataFrame:
    """The whole sill at the height of its first reading."""
    ids = doors.installs["install_id"].gather(part.number).filter(pl.Series(own))
    is_flat = (pl.col("measure") == "sill_height") & pl.col("install_id").is_in(ids.implode())
    first = pl.col("value").first().over("install_id", "measure")
    return readings.with_columns(pl.when(is_flat).then(first).otherwise("value").alias("value"))


def _heaped(readings: pl.DataFrame, own: Flags, doors: Doors, part: Part) -> pl.DataFrame:
    """Readings beyond a limit drawn together until their deviation is just inside it."""
    ids = doors.installs["install_id"].gather(part.number)
    for number, (measure, (deviation, limit)) in enumerate(LIMITED.items()):
        high = np.minimum(limit, part.width / 1000) if measure == "sill_height" else np.full(len(part.number), limit)
        is_beyond = own & (part.true[deviation] > high)
        shrunk = _drawn_together(high, part.true[deviation], number, part)
        factor = pl.DataFrame({"install_id": ids, "factor": shrunk}).filter(pl.Series(is_beyond))
        step = KINDS[KIND_OF[measure]].step
        middle = pl.col("value").mean().over("install_id", "measure", "member")
        nearer = middle + (pl.col("value") - middle) * pl.col("factor")
        is_told = (pl.col("measure") == measure) & pl.col("factor").is_not_null()
        told = ((nearer / step).round() * step).round(3)
        joined = readings.join(factor, on="install_id", how="left", maintain_order="left")
        readings = joined.with_columns(pl.when(is_told).then(told).otherwise("value").alias("value")).drop("factor")
    return readings


def _drawn_together(high: Floats, value: Floats, number: int, part: Part) -> Floats:
    inside = np.random.default_rng([int(part.number[0]), number, 12]).uniform(*JUST_INSIDE, len(high))
    return high * inside / np.maximum(value, 1e-9)
