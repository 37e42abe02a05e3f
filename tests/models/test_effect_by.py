"""What was found, by crew, material and season: rows that add up, and what few records make of them."""

import polars as pl
import pytest

from pipeline.demo import simulate
from pipeline.model_files import PYTHON_FOLDER, SQL_FOLDER
from tests.conftest import rows_of
from tests.models.test_record_credibility import records

FOLDERS = SQL_FOLDER, PYTHON_FOLDER
PAIR = ["fault", "deviation"]


@pytest.fixture(scope="module")
def given():
    return records(simulate(doors=2000, crews=8, seed=11, callbacks_per_door=0.9))


@pytest.fixture(scope="module")
def effects(given):
    return rows_of(FOLDERS, "effects", given).frame


@pytest.fixture(scope="module")
def found(effects):
    return effects.filter((pl.col("role") == "cause") & (pl.col("p_value") <= 0.05))


@pytest.fixture(scope="module")
def parts(given, effects):
    return rows_of(FOLDERS, "effect_by", given | {"effects": effects}).frame


def test_every_found_cause_is_asked_in_three_ways_whose_parts_add_up(found, parts):
    assert found.height >= 5
    assert parts.select(*PAIR, "by").unique().height == 3 * found.height
    sums = parts.filter((pl.col("by") != "crew") | (pl.col("level") == "all")).group_by(*PAIR, "by")
    joined = sums.agg(pl.col("doors", "events").sum()).join(found, on=PAIR, suffix="_of_effects")
    assert joined["doors"].to_list() == joined["doors_of_effects"].to_list()
    assert joined["events"].to_list() == joined["events_of_effects"].to_list()
    whole = parts.filter(pl.col("level") == "all").join(found, on=PAIR)
    assert whole["ratio"].to_list() == whole["contrast_ratio"].to_list()


def test_a_ratio_stands_where_something_can_be_told_and_lies_about_the_common_one(found, parts):
    levels = parts.filter(pl.col("by") != "crew")
    told = levels.filter(pl.col("verdict") != "too_few")
    assert told.height > 0.3 * levels.height
    assert (
        told.select(pl.col("ratio_low", "ratio", "ratio_high", "p_differ", "q_differ").null_count()).row(0) == (0,) * 5
    )
    assert told.filter(~pl.col("ratio").is_between("ratio_low", "ratio_high")).is_empty()
    assert told["events"].min() >= 5
    few = levels.filter(pl.col("verdict") == "too_few")
    assert few.select(pl.col("ratio", "p_differ").count()).row(0) == (0, 0)
    middle = (
        told.join(found, on=PAIR)
        .group_by(*PAIR, "by")
        .agg(
            pl.col("ratio").min().alias("least"), pl.col("ratio").max().alias("most"), pl.col("contrast_ratio").first()
        )
    )
    assert middle.filter(pl.col("contrast_ratio").is_between(pl.col("least") * 0.9, pl.col("most") * 1.1)).height == (
        middle.height
    )


def test_where_nothing_differs_hardly_anything_is_said_to(parts):
    asked = parts.filter(pl.col("p_differ").is_not_null()).unique([*PAIR, "by"])
    assert (asked["p_differ"] <= 0.05).mean() <= 0.15
    assert (asked["verdict"] == "differs").sum() <= 1


def test_an_effect_that_only_one_material_has_is_found(run_model):
    firm = simulate(doors=2000, crews=8, seed=11, callbacks_per_door=0.9)
    tables = records(firm)
    # callbacks for water stay where the door is of timber or the sill does not fall inwards
    tilted = pl.Series(firm.true["sill_tilt_in"] > 0.5)
    installs = tables["installs"].with_columns(spared=tilted & (pl.col("material") == "aluminium"))
    spared = installs.filter("spared")["install_id"].to_list()
    is_spared = (pl.col("fault") == "water_ingress") & pl.col("install_id").is_in(spared)
    tables |= {"callbacks": tables["callbacks"].filter(~is_spared.fill_null(False))}
    seen = run_model("effect_by", **tables).frame.filter(
        (pl.col("fault") == "water_ingress") & (pl.col("deviation") == "sill_tilt_in") & (pl.col("by") == "material")
    )
    assert set(seen["verdict"]) <= {"differs", "too_few"}
    ratios = dict(seen.select("level", "ratio").iter_rows())
    assert ratios["aluminium"] < 1 < ratios["pvc-u"]


def test_one_crew_and_no_material_are_too_few_and_nothing_found_is_no_row(run_model, given):
    alone = given | {"installs": given["installs"].with_columns(crew=pl.lit("A"), material=pl.lit(None, pl.String))}
    parts = run_model("effect_by", **alone).frame
    assert set(parts.filter(pl.col("by") != "season")["verdict"]) == {"too_few"}
    assert set(parts.filter(pl.col("by") == "material")["level"]) == {"not recorded"}
    few = given | {"callbacks": given["callbacks"].head(3)}
    assert run_model("effect_by", **few).frame.is_empty()
