"""What every pair shares: bands of deviations worse on both sides, and columns that do not depend on row order."""

from datetime import date

import polars as pl

from pipeline.catalogue import catalogue_tables, load_catalogue
from pipeline.model.adjusters import places
from pipeline.model.covariates import LEAST_DOORS, MOST_LEVELS, door_columns
from pipeline.model.risk import watched_doors
from pipeline.model.study import limits_of

BOTH = {"name": "hinge_gap_off", "step": "hanging", "measure": "side_gap", "how": "mean", "unit": "mm", "worse": "both"}
BANDS = [
    {"name": "elsewhere", "deviation": "hinge_gap_off", "low": 0.0, "high": 40.0, "status": "for comparison"},
    {"name": "ours", "deviation": "hinge_gap_off", "low": 4.5, "high": 5.5, "product": "Example"},
    {"name": "ours", "deviation": "hinge_gap_off", "low": 4.0, "high": 6.0},
]


def test_the_band_in_use_for_every_product_gives_the_allowed_distance() -> None:
    tables = catalogue_tables(load_catalogue({"deviation": [BOTH], "limit": BANDS}))
    by_name = places(tables["catalogue_deviations"])
    door = {"install_id": ["D1"], "crew": ["A"], "entry_days": [0.0], "exit_days": [9.0], "door_years": [0.1]}
    lists = {"install_id": pl.String, "ordinals": pl.List(pl.Float64), "amounts": pl.List(pl.Float64)}
    limits = limits_of(
        watched_doors(pl.DataFrame(door)), pl.DataFrame(schema=lists), by_name, tables["catalogue_limits"]
    )
    assert limits[0, by_name["hinge_gap_off"].ordinal] == 1.0


def test_levels_seen_equally_often_are_kept_by_name_whatever_the_row_order() -> None:
    n_levels = MOST_LEVELS + 8
    products = [f"Product {k:02d}" for k in range(n_levels)] * LEAST_DOORS
    installs = pl.DataFrame({"product": products}).with_columns(
        *(pl.lit(None, pl.String).alias(name) for name in ("material", "colour", "storey", "exposure", "substrate")),
        *(pl.lit(None, pl.Float64).alias(name) for name in ("leaves", "width_mm", "height_mm", "leaf_weight_kg")),
        pl.lit(None, pl.String).alias("work"),
        pl.lit(date(2025, 5, 1)).alias("fitted_on"),
    )
    kept = [name for name in door_columns(installs).names if name.startswith("product product")]
    assert kept == [f"product product {k:02d}" for k in range(MOST_LEVELS)]
    assert door_columns(installs.reverse()).names == door_columns(installs).names
