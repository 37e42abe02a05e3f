"""The door itself as columns: what the case was like before anybody measured anything."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.stats.intervals import Floats

FACTORS = ("product", "storey", "exposure", "substrate", "work")
NUMBERS = ("leaves", "width_mm", "height_mm", "leaf_weight_kg")
LEAST_DOORS = 20  # a level seen on fewer doors joins the other rare ones
MOST_LEVELS = 12
NOT_RECORDED = "(not recorded)"
RARE = "(rare)"


@dataclass(frozen=True)
class Columns:
    """Named design columns: matrix (n, p), with the prior precision (p,) of each coefficient."""

    names: tuple[str, ...]
    matrix: Floats
    precision: Floats


def door_columns(installs: pl.DataFrame) -> Columns:
    """Product, material and colour, leaves, size, leaf weight, storey, exposure, substrate, work, season and year.

    installs  staged_installs, one row a door; the row order is kept
    Numbers are standardised, with a column that marks where they are not recorded; words become one column a level
    (rare levels together, not recorded a level of its own). Each coefficient has prior sd 1 on the log hazard.
    """
    columns: dict[str, Floats] = {}
    for name in NUMBERS:
        columns.update(_number(name, installs[name].cast(pl.Float64)))
    for name, levels in _factors(installs).items():
        columns.update(_levels(name, levels))
    matrix = np.column_stack(list(columns.values())) if columns else np.zeros((installs.height, 0))
    return Columns(tuple(columns), matrix, np.ones(len(columns)))


def standardised(values: Floats) -> tuple[Floats, Floats]:
    """(n,) values in standard deviations with nan as 0, and (n,) 1 where not recorded; constant columns become 0."""
    missing = np.isnan(values)
    if missing.all():
        return np.zeros(len(values)), missing.astype(float)
    spread = float(np.nanstd(values))
    centred = np.where(missing, 0.0, values - np.nanmean(values))
    return centred / spread if spread > 0 else np.zeros(len(values)), missing.astype(float)


def _number(name: str, series: pl.Series) -> dict[str, Floats]:
    values, missing = standardised(series.to_numpy().astype(float))
    return _varying({name: values, f"{name} {NOT_RECORDED}": missing})


def _factors(installs: pl.DataFrame) -> dict[str, pl.Series]:
    fitted = installs["fitted_on"]
    factors = {name: installs[name].str.strip_chars().str.to_lowercase() for name in FACTORS}
    finish = installs.select(
        pl.concat_str(
            pl.col("material").str.strip_chars().str.to_lowercase().fill_null(NOT_RECORDED),
            pl.col("colour").fill_null(NOT_RECORDED),
            separator=" ",
        )
    ).to_series()
    season = (fitted.dt.month() % 12 // 3).cast(pl.String)
    return {**factors, "material and colour": finish, "season": season, "year": fitted.dt.year().cast(pl.String)}


def _levels(name: str, series: pl.Series) -> dict[str, Floats]:
    values = series.fill_null(NOT_RECORDED)
    # levels seen alike often go by name, so that the same records always give the same columns
    counts = sorted(values.value_counts().iter_rows(), key=lambda row: (-row[1], row[0]))
    kept = [level for level, count in counts if count >= LEAST_DOORS][:MOST_LEVELS]
    marks = {f"{name} {level}": (values == level).to_numpy().astype(float) for level in sorted(kept)}
    rare = (~values.is_in(kept)).to_numpy().astype(float)
    return _varying({**marks, f"{name} {RARE}": rare})


def _varying(columns: dict[str, Floats]) -> dict[str, Floats]:
    return {name: values for name, values in columns.items() if len(values) and np.ptp(values) > 0}
