"""What every pair shares: bands of deviations worse on both sides, and columns that do not depend on row order."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from pipeline.catalogue import catalogue_tables, load_catalogue
from pipeline.model.adjusters import places
from pipeline.model.covariates import LEAST_DOORS, MOST_LEVELS, door_columns
from pipeline.model.door_matrix import door_matrix
from pipeline.model.pair_design import pair_design
from pipeline.model.risk import watched_doors
from pipeline.model.study import bands_of, firm_of

BOTH = {"name": "hinge_gap_off", "step": "hanging", "measure": "side_gap", "how": "mean", "unit": "mm", "worse": "both"}


def test_each_door_is_held_to_the_middle_of_its_own_limits_else_to_the_firms_median() -> None:
    by_name = places(catalogue_tables(load_catalogue({"deviation": [BOTH]}))["catalogue_deviations"])
    ordinal = by_name["hinge_gap_off"].ordinal
    ids = ["D1", "D2", "D3"]
    time = {"crew": ["A"] * 3, "entry_days": [0.0] * 3, "exit_days": [9.0] * 3, "door_years": [0.1] * 3}
    watched = watched_doors(pl.DataFrame({"install_id": ids, **time}))
    at = [[float(ordinal)]] * 3
    values = pl.DataFrame({"install_id": ids, "ordinals": at, "amounts": [[4.0], [4.0], [7.0]]})
    limits = pl.DataFrame(
        {"install_id": ids[:2], "ordinals": at[:2], "amounts": [[6.0], [3.0]], "lows": [[5.0], [1.0]]}
    )
    bands = bands_of(watched, limits, by_name)
    assert bands.limits[:, ordinal] == pytest.approx([0.5, 1.0, np.nan], nan_ok=True)
    firm = firm_of(watched, installs_of(3).with_columns(install_id=pl.Series(ids)), values, by_name, bands)
    assert firm.values[:, ordinal] == pytest.approx([1.5, 2.0, 3.0])  # from 5.5, 2 and the median, 4


def installs_of(n: int) -> pl.DataFrame:
    texts = ("material", "colour", "storey", "exposure", "substrate", "work", "product")
    numbers = ("leaves", "width_mm", "height_mm", "leaf_weight_kg")
    return pl.DataFrame({"fitted_on": [date(2025, 5, 1)] * n}).with_columns(
        *(pl.lit(None, pl.String).alias(name) for name in texts),
        *(pl.lit(None, pl.Float64).alias(name) for name in numbers),
    )


def test_levels_seen_equally_often_are_kept_by_name_whatever_the_row_order() -> None:
    n_levels = MOST_LEVELS + 8
    products = [f"Product {k:02d}" for k in range(n_levels)] * LEAST_DOORS
    installs = installs_of(len(products)).with_columns(product=pl.Series(products))
    kept = [name for name in door_columns(installs).names if name.startswith("product product")]
    assert kept == [f"product product {k:02d}" for k in range(MOST_LEVELS)]
    assert door_columns(installs.reverse()).names == door_columns(installs).names


def test_a_value_far_beyond_all_others_settles_no_slope_and_stays_what_was_read() -> None:
    by_name = places(catalogue_tables(load_catalogue())["catalogue_deviations"])
    place, n = by_name["sill_level_error"], 200
    read = np.random.default_rng(1).gamma(2.0, 1.0, n)
    read[7] = 300.0
    ids = [f"D{k:03}" for k in range(n)]
    time = {"crew": ["A"] * n, "entry_days": [0.0] * n, "exit_days": [9.0] * n, "door_years": [0.1] * n}
    watched = watched_doors(pl.DataFrame({"install_id": ids, **time}))
    values = pl.DataFrame(
        {"install_id": ids, "ordinals": [[float(place.ordinal)]] * n, "amounts": read[:, None].tolist()}
    )
    lists = dict.fromkeys(("ordinals", "amounts", "lows"), pl.List(pl.Float64))
    no_limits = pl.DataFrame(schema={"install_id": pl.String, **lists})
    firm = firm_of(
        watched, installs_of(n).with_columns(install_id=pl.Series(ids)), values, by_name,
        bands_of(watched, no_limits, by_name),
    )  # fmt: skip
    assert firm.values[7, place.ordinal] < 50
    assert firm.as_read(np.array([3, 7]))[:, place.ordinal] == pytest.approx(read[[3, 7]])
    design = pair_design(firm, place, {})
    assert design is not None
    assert design.rows.tolist() == [k for k in range(n) if k != 7]


def test_what_arithmetic_leaves_over_is_no_difference_between_doors() -> None:
    gathered = pl.DataFrame({"install_id": ["D1", "D2"], "ordinals": [[0.0], [0.0]], "amounts": [[3e-14], [0.0]]})
    assert np.ptp(door_matrix(gathered, gathered["install_id"], 1)) == 0
