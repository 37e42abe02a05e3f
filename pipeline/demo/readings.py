"""From true geometry to what stands on the record sheets: instrument errors, rounding, sections left out."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl

from pipeline.demo.arrays import Flags, Floats, Ints, words_at
from pipeline.demo.doors import Doors
from pipeline.demo.geometry_frame import frame_blocks
from pipeline.demo.geometry_leaves import leaf_blocks
from pipeline.demo.geometry_sill import sill_blocks
from pipeline.demo.part import Part
from pipeline.demo.scenario import Scenario


@dataclass(frozen=True)
class Kind:
    """A kind of instrument. max_error: common to all its readings, rectangular; spread: sd between readings."""

    letter: str
    max_error: float
    spread: float
    step: float
    unit: str = "mm"


KINDS = {
    "tape": Kind("T", 0.8, 0.10, 0.5),
    "laser": Kind("L", 0.5, 0.08, 0.1),
    "plumb line and rule": Kind("P", 0.3, 0.08, 0.1),
    "feeler gauge": Kind("F", 0.05, 0.06, 0.1),
    "spring balance": Kind("S", 2.0, 1.5, 1.0, "N"),
    "thermometer": Kind("H", 1.0, 0.3, 1.0, "°C"),
}
USED_FOR = {
    "tape": ("aperture_width", "aperture_height", "aperture_diagonal", "frame_width", "frame_height", "frame_diagonal",
             "leaf_diagonal", "fixing", "packer"),
    "laser": ("sill_height", "sill_line", "clear_height"),
    "plumb line and rule": ("jamb_face", "jamb_edge", "sill_tilt"),
    "feeler gauge": ("head_gap", "threshold_gap", "side_gap", "perimeter_gap", "seal_compression"),
    "spring balance": ("running_force",),
    "thermometer": ("temperature",),
}  # fmt: skip
KIND_OF = {measure: kind for kind, measures in USED_FOR.items() for measure in measures}
# Measured where it is fitted and recorded to the millimetre at best.
ROUND_TO_MM = ("fixing", "packer")
UNITS = {"hinge_packers": "count", "temperature": "°C", "running_force": "N"}
# Sections of the record sheet: left out or filled in as one.
SECTIONS = {
    "aperture": ("aperture_width", "aperture_height", "aperture_diagonal"),
    "sill": ("sill_height",),
    "sill across": ("sill_tilt",),
    "sill line": ("sill_line",),
    "frame lengths": ("frame_width", "frame_height", "frame_diagonal"),
    "jambs": ("jamb_face", "jamb_edge"),
    "head": ("clear_height",),
    "fixings": ("fixing", "packer"),
    "perimeter": ("perimeter_gap",),
    "gaps": ("head_gap", "threshold_gap", "side_gap"),
    "hinges": ("hinge_packers",),
    "leaves": ("leaf_diagonal",),
    "seals": ("seal_compression",),
    "running": ("running_force", "temperature"),
}
# The deviation that a section shows first, for those who would rather not write it down.
SHOWS = {
    "sill": "sill_level_error",
    "frame lengths": "frame_diagonal_difference",
    "jambs": "jamb_plumb_error",
    "head": "head_parallel_error",
    "gaps": "leaf_drop_racking",
    "leaves": "leaf_diagonal_difference",
    "seals": "seal_compression_spread",
}
MEASURES = tuple(measure for measures in SECTIONS.values() for measure in measures)
READING_COLUMNS = [
    "install_id", "measure", "member", "station", "position_mm", "value", "unit", "instrument", "read_on", "read_by",
]  # fmt: skip


def readings_of(part: Part, doors: Doors, scenario: Scenario, seed: np.random.SeedSequence) -> pl.DataFrame:
    """The record `readings` of some doors, in canonical columns, sorted by door."""
    rng = np.random.default_rng(seed)
    table = exact_readings(part, scenario, rng)
    table = table.filter(_on_record(table, part, doors, scenario, rng))
    return as_written(table, doors, _read_days(table, doors, table["door"].to_numpy()), scenario, rng)


def exact_readings(part: Part, scenario: Scenario, rng: np.random.Generator) -> pl.DataFrame:
    """All readings of some doors without error, as blocks are (see part.BLOCK_SCHEMA), sorted by door."""
    wanted = scenario.measures or MEASURES
    blocks = [*frame_blocks(part, wanted, rng), *sill_blocks(part, wanted, rng), *leaf_blocks(part, wanted, rng)]
    return pl.concat([block for block in blocks if block.height]).sort("door", maintain_order=True)


def _on_record(
    table: pl.DataFrame, part: Part, doors: Doors, scenario: Scenario, rng: np.random.Generator
) -> pl.Series:
    """Which readings are on record: a section of the sheet is filled in as one, or left out."""
    sections = list(SECTIONS)
    section_of = {measure: sections.index(name) for name, measures in SECTIONS.items() for measure in measures}
    share = np.array([scenario.sections.get(name, scenario.recorded) for name in sections])
    is_kept = rng.random((len(part.number), len(sections))) < share
    is_kept &= ~(is_bad(part) & (rng.random(is_kept.shape) < scenario.leaves_out_bad) & _may_hide(part, doors))
    row = table["door"].to_numpy() - part.number[0]
    column = table["measure"].replace_strict(section_of, return_dtype=pl.Int64).to_numpy()
    return pl.Series(is_kept[row, column])


def is_bad(part: Part) -> Flags:
    """Whether a door is among the worst fifth of these doors in what a section shows; shape (doors, sections)."""
    columns = []
    for name in SECTIONS:
        shown = part.true[SHOWS[name]] if name in SHOWS else np.zeros(len(part.number))
        columns.append(shown > np.quantile(shown, 0.8))
    return np.column_stack(columns)


def _may_hide(part: Part, doors: Doors) -> Flags:
    return (doors.crew[part.number] > 0)[:, None]


def as_written(
    table: pl.DataFrame, doors: Doors, read_day: Ints, scenario: Scenario, rng: np.random.Generator
) -> pl.DataFrame:
    """Blocks as the record has them: with each instrument's errors, unit, day and reader. read_day: per row."""
    door = table["door"].to_numpy()
    crew = doors.crew[door]
    kinds = list(KINDS)
    kind = table["measure"].replace_strict(
        {measure: kinds.index(name) for measure, name in KIND_OF.items()}, default=-1, return_dtype=pl.Int64
    ).to_numpy()  # fmt: skip
    value = _with_errors(table, kind, crew, scenario, rng)
    names = instrument_names(scenario.crews)
    instrument = np.where(kind >= 0, crew * len(kinds) + kind, -1)
    start = pl.Series([scenario.starts_on]).to_physical()[0]
    return table.with_columns(
        doors.installs["install_id"].gather(door),
        pl.Series("value", value),
        pl.col("measure").replace_strict(UNITS, default="mm").alias("unit"),
        words_at(names, instrument).alias("instrument"),
        pl.Series("read_on", (read_day + start).astype(np.int32)).cast(pl.Date),
        doors.installs["crew"].gather(door).alias("read_by"),
    ).select(READING_COLUMNS)


def _read_days(table: pl.DataFrame, doors: Doors, door: Ints) -> Ints:
    surveyed = (
        doors.installs["surveyed_on"].to_physical().to_numpy() - doors.installs["fitted_on"].to_physical().to_numpy()
    )
    is_survey = table["measure"].str.starts_with("aperture").to_numpy()
    return np.where(is_survey, doors.fitted_day[door] + surveyed[door], doors.fitted_day[door])


def _with_errors(
    table: pl.DataFrame,
    kind: Ints,
    crew: Ints,
    scenario: Scenario,
    rng: np.random.Generator,
) -> Floats:
    rows = list(KINDS.values())
    true = table["value"].to_numpy()
    spread = np.array([*(row.spread for row in rows), 0.0])[kind] * scenario.noise
    step = np.array([*(row.step for row in rows), 1.0])[kind]
    step = np.where(table["measure"].is_in(ROUND_TO_MM).to_numpy(), 1.0, step)
    value = true + common_errors(scenario)[crew, kind] + spread * rng.standard_normal(len(true))
    value = np.round(np.round(value / step) * step, 3)
    return np.where(table["measure"].is_in(CANNOT_BE_NEGATIVE).to_numpy(), value.clip(0.0), value)


CANNOT_BE_NEGATIVE = ("head_gap", "threshold_gap", "side_gap", "perimeter_gap", "fixing", "packer", "running_force")


def common_errors(scenario: Scenario) -> Floats:
    """Each instrument's own error, shape (crews, kinds + 1); the last column is for what is counted by eye."""
    rng = np.random.default_rng([scenario.seed, 77])
    largest = np.array([*(row.max_error for row in KINDS.values()), 0.0])
    return rng.uniform(-1.0, 1.0, (scenario.crews, len(largest))) * largest


def instrument_names(crews: int) -> list[str]:
    """One instrument of each kind for each crew: T-001, L-001, ..."""
    return [f"{row.letter}-{crew + 1:03d}" for crew in range(crews) for row in KINDS.values()]


def instruments_record(scenario: Scenario) -> pl.DataFrame:
    """The record `instruments`."""
    kinds = [(name, row) for _ in range(scenario.crews) for name, row in KINDS.items()]
    checked: list[date] = [scenario.starts_on + timedelta(days=30 + 7 * (i % 20)) for i in range(len(kinds))]
    return pl.DataFrame(
        {
            "instrument": instrument_names(scenario.crews),
            "kind": [name for name, _ in kinds],
            "max_error": [row.max_error for _, row in kinds],
            "unit": [row.unit for _, row in kinds],
            "checked_on": checked,
        }
    )
