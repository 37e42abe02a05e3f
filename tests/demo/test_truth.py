"""The truth that the simulator tells is the one that its events follow."""

import numpy as np
import polars as pl
import pytest

from pipeline.demo import ideal_fit, simulate
from pipeline.demo.ideal import population_effects
from pipeline.demo.simulate import Firm

PAIRS = pl.DataFrame(
    [
        ("stiff_running", "track_clean"),  # last step: its effect is direct
        ("stiff_running", "sill_level_error"),  # half of it runs through the head
        ("dropped_leaf", "jamb_plumb_error"),  # part of it turns the leaves
        ("lock_misaligned", "aperture_diagonal_difference"),  # only through the frame
        ("water_ingress", "sill_tilt_in"),
        ("loose_frame", "fixing_corner_distance"),  # smaller is worse
        ("dropped_leaf", "sill_line_bow"),  # nothing
        ("draught", "sill_level_error"),  # nothing
    ],
    schema=["fault", "deviation"],
    orient="row",
)


@pytest.fixture(scope="module")
def large() -> Firm:
    return simulate(doors=30_000, crews=60, seed=21)


def beside_truth(fits: pl.DataFrame, firm: Firm) -> pl.DataFrame:
    return PAIRS.join(fits, on=["fault", "deviation"], how="left").join(
        firm.truth.rename({"log_ratio": "truth"}), on=["fault", "deviation"], how="left"
    )


def test_a_large_firm_shows_the_true_total_effects(large: Firm) -> None:
    found = beside_truth(ideal_fit(large, PAIRS), large)
    # later steps stay free, so the worst doors call first and effects of early steps look up to a tenth smaller
    low = found["truth"] * 0.85 - 3 * found["se"] * found["truth"].sign()
    high = found["truth"] * 1.02 + 3 * found["se"] * found["truth"].sign()
    is_cause = found["is_cause"]
    assert is_cause.sum() == 6
    inside = found.with_columns(low=low, high=high).filter("is_cause")
    between = pl.min_horizontal("low", "high") <= pl.col("log_ratio")
    assert inside.select(between & (pl.col("log_ratio") <= pl.max_horizontal("low", "high")))["low"].all()
    nulls = found.filter(~pl.col("is_cause"))
    assert (nulls["log_ratio"].abs() < 3.5 * nulls["se"]).all()


def test_expected_events_give_the_same_effects_without_chance(large: Firm) -> None:
    found = beside_truth(population_effects(large, PAIRS), large)
    last_step = found.filter(pl.col("deviation") == "track_clean")
    assert last_step["log_ratio"][0] == pytest.approx(last_step["truth"][0], rel=0.01)
    causes = found.filter("is_cause")
    assert ((causes["log_ratio"] / causes["truth"]).is_between(0.8, 1.02)).all()
    seen = ideal_fit(large, PAIRS).join(found, on=["fault", "deviation"], suffix="_expected")
    assert ((seen["log_ratio"] - seen["log_ratio_expected"]).abs() < 3.5 * seen["se"]).all()


def test_total_effects_are_direct_effects_and_products_of_paths(large: Firm) -> None:
    truth = {
        (fault, name): value for fault, name, value in large.truth.select("fault", "deviation", "log_ratio").iter_rows()
    }
    assert truth["stiff_running", "sill_level_error"] == pytest.approx(0.35 + 0.25 * 0.54)
    assert truth["lock_misaligned", "aperture_diagonal_difference"] == pytest.approx(0.10 * 0.60)
    # head_bow is part of head_parallel_error, which is held fixed beside it: nothing of its own
    assert truth["stiff_running", "head_bow"] == 0.0
    # per 50 mm
    assert truth["loose_frame", "fixing_spacing"] == pytest.approx(50 * 0.0088)


def test_planted_contrasts_are_large_enough_to_be_seen(large: Firm) -> None:
    planted = large.truth.filter("is_planted")
    assert planted.height >= 15
    assert planted["fault"].n_unique() >= 10
    assert (planted["log_ratio_per_sd"].abs() >= 0.6).all()
    expected = {(pair.deviation, pair.fault) for pair in large.catalogue.pairs}
    assert set(planted.select("deviation", "fault").iter_rows()) <= expected


def test_a_firm_without_effects_has_only_nulls() -> None:
    firm = simulate(doors=2000, crews=12, seed=2, effect_scale=0.0)
    assert not firm.truth["is_cause"].any()
    assert not ideal_fit(firm, firm.truth.filter(pl.col("fault").is_in(["dropped_leaf"])))["is_strong"].any()


def test_a_firm_that_nobody_called_back_can_be_simulated() -> None:
    few = simulate(doors=5, crews=1, seed=52, callbacks_per_door=0.0001, years=0.1)
    assert few.records["callbacks"].height == 0
    assert few.truth.columns == simulate(doors=5, crews=1, seed=52).truth.columns


def test_the_weak_crew_of_each_step_is_planted_as_asked() -> None:
    for crews in (6, 24):
        firm = simulate(doors=200, crews=crews, seed=3, weak_factor=1.35)
        for (step,), table in firm.carelessness.group_by("step"):
            worst, second = table["carelessness"].top_k(2).to_list()
            assert worst == pytest.approx(1.35 * second), step
            assert table.filter("is_weak")["carelessness"].item() == worst


def test_hard_doors_go_to_careful_crews_only_if_asked() -> None:
    def correlation(hard_to_careful: float) -> float:
        firm = simulate(doors=6000, crews=24, seed=4, hard_to_careful=hard_to_careful)
        hardness = firm.doors.traits["heavy"] + firm.doors.traits["wide"]
        return float(np.corrcoef(hardness, firm.crews.general[firm.doors.crew])[0, 1])

    assert abs(correlation(0.0)) < 0.05
    assert correlation(1.0) < -0.15
