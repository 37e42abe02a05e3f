"""What the instruments hide of the causes that were found."""

import polars as pl
import pytest

from pipeline.demo import simulate
from tests.models.test_record_credibility import records


@pytest.fixture(scope="module")
def given():
    return records(simulate(doors=1400, crews=14, seed=11, callbacks_per_door=0.9))


def test_a_corrected_ratio_is_farther_from_one_and_wider(run_model, given):
    effects = run_model("effects", **given).frame
    blur = run_model("instrument_blur", **given).frame
    found = effects.filter((pl.col("role") == "cause") & pl.col("evidence").is_in(["strong", "suggestive"]))
    assert blur.height == found.height
    both = blur.join(found, on=["fault", "deviation"]).filter(pl.col("verdict") == "corrected")
    assert both.height
    assert (both["reliability"] >= 0.7).all()
    assert (both["ratio"].log().abs() >= both["contrast_ratio"].log().abs() - 1e-9).all()
    assert blur.filter(pl.col("verdict") != "corrected")["ratio"].null_count() == (blur["verdict"] != "corrected").sum()
