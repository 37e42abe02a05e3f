"""dose_response and limit_advice as tables: made from records, and from small tables drawn by hand."""

import numpy as np
import polars as pl
import pytest

from pipeline.demo import simulate
from pipeline.model_files import PYTHON_FOLDER, SQL_FOLDER
from tests.calibration.parts.curves import curves
from tests.conftest import rows_of
from tests.models.test_record_credibility import records

PAIR = ["fault", "deviation"]
CREWS = 10


@pytest.fixture(scope="module")
def firm():
    return simulate(doors=1500, crews=CREWS, seed=3, callbacks_per_door=0.9)


@pytest.fixture(scope="module")
def tables(firm):
    def run(table, **given):
        return rows_of((SQL_FOLDER, PYTHON_FOLDER), table, given).frame

    given = records(firm)
    effects = run("effects", **given)
    fits = run("dose_fits", effects=effects, **given)
    response = run("dose_response", dose_fits=fits)
    advice = run("limit_advice", effects=effects, dose_fits=fits, **given)
    return effects, response, advice


def test_curves_are_of_answered_measured_pairs_and_agree_with_the_headline(tables, firm):
    effects, response, _ = tables
    checks = [row.name for row in firm.catalogue.deviations if row.how == "checks"]
    answered = effects.filter((pl.col("evidence") != "too_few") & ~pl.col("deviation").is_in(checks)).filter(
        pl.col("evidence").is_in(["strong", "suggestive"]) | pl.col("is_expected")
    )
    pairs = response.select(PAIR).unique()
    assert pairs.join(answered, on=PAIR, how="anti").is_empty()
    assert pairs.height > 0.8 * answered.height > 15
    at_reference = response.filter(pl.col("value") == pl.col("reference"))
    assert at_reference.height == pairs.height
    assert at_reference.select(pl.col("hazard_ratio", "hr_low", "hr_high").eq(1.0).all()).row(0) == (True, True, True)
    assert response.select((pl.col("doors") > 0).all(), (pl.col("hr_low") <= pl.col("hazard_ratio")).all()).row(0) == (
        True,
        True,
    )
    counted = response.group_by(PAIR).agg(pl.col("doors").sum().alias("drawn"), pl.len().alias("points"))
    beside = counted.join(effects, on=PAIR)
    assert beside.select((pl.col("drawn") <= pl.col("doors")).all()).item()
    assert counted["points"].max() <= 25
    # over all pairs the curve's rise over the contrast is that of the straight line
    rise = response.join(effects.select(*PAIR, "contrast_to", "contrast_ratio"), on=PAIR)
    nearest = rise.sort((pl.col("value") - pl.col("contrast_to")).abs()).group_by(PAIR, maintain_order=True).first()
    logs = nearest.select(pl.col("hazard_ratio").log(), pl.col("contrast_ratio").log()).to_numpy()
    assert np.corrcoef(logs.T)[0, 1] > 0.8


def test_every_measured_pair_gets_advice_and_nothing_beyond_the_data(tables, firm):
    effects, response, advice = tables
    checks = [row.name for row in firm.catalogue.deviations if row.how == "checks"]
    assert set(advice.select(PAIR).rows()) == set(
        effects.filter(~pl.col("deviation").is_in(checks)).select(PAIR).rows()
    )
    both = advice.join(effects.select(*PAIR, found="evidence"), on=PAIR)
    assert both.select((pl.col("evidence") == pl.col("found")).all()).item()
    assert both.filter((pl.col("advice") == "too_few") != (pl.col("found") == "too_few")).is_empty()
    moved = advice.filter(pl.col("advice").is_in(["tighten", "loosen"]))
    assert set(moved["evidence"]) <= {"strong"}
    assert advice["note"].str.len_chars().min() > 5
    ends = response.group_by(PAIR).agg(least=pl.col("value").min(), most=pl.col("value").max())
    for column in ("limit_risk_1_5", "limit_low", "limit_high", "limit_cost"):
        beyond = advice.join(ends, on=PAIR).filter(
            (pl.col(column) < pl.col("least")) | (pl.col(column) > pl.col("most"))
        )
        assert beyond.is_empty()
    crossed = advice.drop_nulls(["limit_low", "limit_risk_1_5", "limit_high"])
    assert crossed.height > 0
    assert crossed.filter(~pl.col("limit_risk_1_5").is_between("limit_low", "limit_high")).is_empty()


def test_the_curve_reads_one_and_a_half_where_the_advice_says(tables):
    _, response, advice = tables
    for row in advice.drop_nulls("limit_risk_1_5").iter_rows(named=True):
        curve = response.filter(fault=row["fault"], deviation=row["deviation"])
        read = np.interp(row["limit_risk_1_5"], curve["value"], curve["hazard_ratio"].log())
        assert np.exp(read) == pytest.approx(1.5, rel=1e-6)


def test_curves_hold_the_truth_and_so_does_the_place_with_one_and_a_half_times_the_risk(tables, firm):
    _, response, advice = tables
    found = curves(firm, {"dose_response": response, "limit_advice": advice})
    assert found.height > 15
    assert found["held"].mean() > 0.92
    assert found["is_place_held"].mean() > 0.9
    reached = found.drop_nulls("true_place")
    assert reached.height > 5
    assert reached["is_place_held"].mean() > 0.85
    assert not found.filter(~pl.col("is_advice_right")).height


def test_an_empty_firm_gives_empty_tables(run_model):
    assert run_model("dose_fits").frame.is_empty()
    assert run_model("dose_response").frame.is_empty()
    assert run_model("limit_advice").frame.is_empty()
