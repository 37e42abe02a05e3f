"""What was found, looked at in other ways: each way against effects of records that are that way."""

import polars as pl
import pytest

from pipeline.demo import simulate
from tests.conftest import DEFAULT_SETTINGS
from tests.models.test_record_credibility import records

PAIR = ["fault", "deviation"]
WAYS = {"repeats within 14 days", "repeats within 56 days", "until the first visit"}


@pytest.fixture(scope="module")
def given():
    return records(simulate(doors=1400, crews=14, seed=11, callbacks_per_door=0.9))


def test_what_was_found_is_looked_at_in_every_way(run_model, given):
    effects = run_model("effects", **given).frame
    seen = run_model("effect_sensitivity", effects=effects, **given).frame
    found = effects.filter((pl.col("role") == "cause") & pl.col("evidence").is_in(["strong", "suggestive"]))
    assert found.height >= 5
    reported = seen.filter(pl.col("what") == "as reported").join(found, on=PAIR, how="full", suffix="_of_effects")
    assert reported["ratio"].to_list() == reported["contrast_ratio"].to_list()
    assert reported["share"].to_list() == reported["attributable_share"].to_list()
    assert reported["events"].to_list() == reported["events_of_effects"].to_list()
    others = seen.filter(pl.col("what").is_in(WAYS))
    assert others.group_by(PAIR).len()["len"].to_list() == [3] * found.height
    assert (
        seen.filter(pl.col("ratio").is_not_null()).select(pl.col("e_value_low") <= pl.col("e_value")).to_series().all()
    )
    # a limit that allows more spares less
    compared = seen.filter(pl.col("what") == "limit: plumb, new-home warranty").join(reported, on=PAIR, suffix="_now")
    assert compared.height
    assert (compared["share"] < compared["share_now"]).all()


def test_a_door_that_nobody_visits_is_watched_to_the_end_and_other_repeats_are_counted_as_asked(run_model, given):
    nobody = given | {"callbacks": given["callbacks"].with_columns(visited_on=pl.lit(None, pl.Date))}
    other = DEFAULT_SETTINGS.with_columns(repeat_days=pl.lit(56, pl.Int64))
    effects = run_model("effects", settings=other, **nobody).frame
    seen = run_model("effect_sensitivity", settings=DEFAULT_SETTINGS, **nobody).frame
    unvisited = seen.filter(pl.col("what").is_in(["as reported", "until the first visit"]))
    assert unvisited["ratio"].null_count() == 0
    spread = unvisited.group_by(PAIR).agg((pl.col("ratio").max() / pl.col("ratio").min()).alias("apart"))
    assert spread["apart"].to_list() == pytest.approx([1.0] * spread.height, rel=1e-5)
    longer = seen.filter(pl.col("what") == "repeats within 56 days").join(effects, on=PAIR, suffix="_of_effects")
    assert longer["events"].to_list() == longer["events_of_effects"].to_list()
    assert longer["ratio"].to_list() == pytest.approx(longer["contrast_ratio"].to_list(), rel=0.02)
