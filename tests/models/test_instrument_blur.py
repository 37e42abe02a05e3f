"""What the instruments hide of the causes that were found."""

import numpy as np
import polars as pl
import pytest

from pipeline.demo import simulate
from pipeline.model.marts.instrument_blur import CORRECTED, ROUNDING_ONLY
from tests.models.test_record_credibility import records


@pytest.fixture(scope="module")
def firm():
    return simulate(doors=1400, crews=14, seed=11, callbacks_per_door=0.9)


def found_of(run_model, given):
    """instrument_blur beside the causes found."""
    effects, blur = (run_model(name, **given).frame for name in ("effects", "instrument_blur"))
    found = effects.filter((pl.col("role") == "cause") & pl.col("evidence").is_in(["strong", "suggestive"]))
    assert blur.height == found.height > 0
    return blur.join(found, on=["fault", "deviation"])


def test_without_repeats_only_the_rounding_is_corrected_and_said_so(run_model, firm):
    blur = found_of(run_model, records(firm))
    assert CORRECTED not in blur["verdict"].to_list()
    both = blur.filter(pl.col("verdict") == ROUNDING_ONLY)
    assert both.height
    assert (both["doors_repeated"] == 0).all()
    assert both["note"].str.contains("twice").all()
    assert (both["reliability"] >= 0.7).all()
    assert (both["ratio"].log().abs() >= both["contrast_ratio"].log().abs() - 1e-9).all()
    others = blur.filter(pl.col("verdict") != ROUNDING_ONLY)
    assert others["ratio"].null_count() == others.height


def test_repeats_show_what_readings_scatter_and_the_correction_grows(run_model, firm):
    # a second reading of every place on the same day, half a millimetre apart from the first on average
    scatter = np.random.default_rng(3).normal(0, 0.6, firm.readings.height)
    is_length = pl.col("unit") == "mm"
    again = firm.readings.with_columns(
        value=pl.when(is_length).then((pl.col("value") + pl.Series(scatter)).round(1)).otherwise("value"),
        read_by=pl.lit("Second reader"),
    )
    once, twice = (
        found_of(run_model, records(firm, readings)) for readings in (None, pl.concat([firm.readings, again]))
    )
    repeated = twice.filter(pl.col("verdict") == CORRECTED)
    assert repeated.height
    assert (repeated["doors_repeated"] >= 0.5 * repeated["doors_known"]).all()
    both = repeated.join(once, on=["fault", "deviation"], suffix="_once").drop_nulls(
        ["reliability", "reliability_once"]
    )
    assert both.height
    assert (both["reliability"] < both["reliability_once"]).all()
    assert both["reliability"].min() < 0.97
