"""Limit decisions under uncertainty, which limit governs a door, and the steps that follow."""

from datetime import date

import polars as pl
import pytest
from scipy import stats

from pipeline.catalogue import Limit, catalogue_tables, load_catalogue

DOORS = """
    install_id | crew | fitted_on  | width_mm | height_mm | leaves | product | material
    D1         | A    | 2024-01-10 | 2400     | 2100      | 3      | Fold 70 | timber
"""


def deviations_of(*rows):
    names = ["install_id", "deviation", "step", "value", "uncertainty", "readings", "unclipped", "undated"]
    kinds = [pl.String, pl.String, pl.String, pl.Float64, pl.Float64, pl.Int64, pl.Float64, pl.Int64]
    filled = [("D1", name, "frame", value, u, 3, unclipped, 0) for name, value, u, unclipped in rows]
    return pl.DataFrame(filled, schema=dict(zip(names, kinds, strict=True)), orient="row")


def limits_of(*limits):
    columns = catalogue_tables(load_catalogue())["catalogue_limits"].schema
    rows = [{name: getattr(limit, name) for name in columns} for limit in limits]
    return pl.DataFrame(rows, schema=columns)


def decided(run_model, *rows, limits=None, installs=DOORS):
    given = {"installs": installs, "deviations": deviations_of(*rows)}
    if limits is not None:
        given["catalogue_limits"] = limits_of(*limits)
    found = run_model("limit_decisions", **given).pick("limit", "limit_value", "decision", "probability_out")
    return {row[0]: row[1:] for row in found}


PLUMB = Limit("plumb", "jamb_plumb_error", high=3.0)


@pytest.mark.parametrize(
    ("value", "within", "decision"),
    # A plumb limit of 3.0 mm over 2.1 m with u = 0.7354: JCGM 106 with a guard of 1.645 u accepts at 1.790 and rejects
    # at 4.210; worked by hand from the normal distribution.
    [(1.0, 0.997, "within"), (1.789, 0.95, "within"), (1.8, 0.95, "undecided"), (2.6, 0.707, "undecided"),
     (3.0, 0.5, "undecided"), (3.4, 0.29, "undecided"), (4.209, 0.05, "undecided"), (4.211, 0.05, "out")],
)  # fmt: skip
def test_a_plumb_limit_and_a_spirit_level(run_model, value, within, decision):
    found = decided(run_model, ("jamb_plumb_error", value, 0.7354, None), limits=[PLUMB])["plumb"]
    assert found[1] == decision
    assert 1 - found[2] == pytest.approx(within, abs=0.005)


@pytest.mark.parametrize("z", [-6.0, -3.1, -1.0, -0.2, 0.0, 0.3, 1.7, 4.0])
def test_the_tail_is_that_of_the_normal_distribution(run_model, z):
    found = decided(run_model, ("jamb_plumb_error", 3.0 + z, 1.0, None), limits=[PLUMB])["plumb"]
    assert found[2] == pytest.approx(stats.norm.cdf(z), abs=1.5e-7)


def test_without_an_uncertainty_a_value_at_the_limit_is_within(run_model):
    found = decided(run_model, ("fixing_shortfall", 0.0, None, None), ("unpackered_fixings", 0.1, None, None))
    assert found["fixings a side"][1:] == ("within", 0.0)
    assert found["packers at fixings"][1:] == ("out", 1.0)


def test_the_true_distance_decides_where_a_value_was_cut_at_zero(run_model):
    assert decided(run_model, ("sill_tilt_in", 0.0, 0.3, -3.0))["sill fall"][1] == "within"


def test_a_door_without_the_deviation_is_not_recorded(run_model):
    assert decided(run_model, ("jamb_plumb_error", None, None, None), limits=[PLUMB])["plumb"][1:] == (
        "not recorded", None,
    )  # fmt: skip
    assert decided(run_model, limits=[PLUMB])["plumb"][1:] == ("not recorded", None)


def test_the_tighter_of_a_fixed_limit_and_one_per_metre_governs(run_model):
    found = decided(run_model, ("sill_level_error", 2.5, 0.0, None))["sill level"]
    assert found[:2] == (2.4, "out")
    unknown = decided(run_model, ("sill_level_error", 2.5, 0.0, None), installs=DOORS.replace("2400", "    "))
    assert unknown["sill level"][:2] == (3.0, "within")


def test_a_limit_per_metre_of_an_unknown_length_cannot_be_held_against_a_door(run_model):
    doors = DOORS.replace("2100", "    ")
    found = decided(run_model, ("frame_racking", 9.0, 0.0, None), installs=doors)
    assert found["racking"] == (None, "not recorded", None)


def test_the_most_specific_then_the_latest_row_in_force_governs(run_model):
    limits = [
        PLUMB,
        Limit("plumb", "jamb_plumb_error", high=2.0, material="Timber"),
        Limit("plumb", "jamb_plumb_error", high=1.5, material="timber", starts_on=date(2023, 1, 1)),
        Limit("plumb", "jamb_plumb_error", high=1.0, material="timber", starts_on=date(2024, 6, 1)),
        Limit("plumb", "jamb_plumb_error", high=0.5, material="steel"),
    ]
    assert decided(run_model, ("jamb_plumb_error", 1.7, 0.0, None), limits=limits)["plumb"] == (1.5, "out", 1.0)


def test_a_firms_own_limit_goes_before_the_built_in_ones(run_model):
    limits = [PLUMB, Limit("our plumb", "jamb_plumb_error", high=5.0, is_own=True)]
    found = decided(run_model, ("jamb_plumb_error", 4.0, 0.0, None), limits=limits)
    assert found == {"our plumb": (5.0, "within", 0.0)}
    for_steel = [PLUMB, Limit("our plumb", "jamb_plumb_error", high=5.0, is_own=True, material="steel")]
    assert set(decided(run_model, ("jamb_plumb_error", 4.0, 0.0, None), limits=for_steel)) == {"plumb"}


def test_a_limit_for_comparison_decides_nothing(run_model):
    limits = [PLUMB, Limit("elsewhere", "jamb_plumb_error", high=1.0, status="for comparison")]
    assert set(decided(run_model, ("jamb_plumb_error", 2.0, 0.0, None), limits=limits)) == {"plumb"}
    compared = run_model(
        "limit_comparison",
        installs=DOORS,
        deviations=deviations_of(("jamb_plumb_error", 2.0, 0.0, None)),
        catalogue_limits=limits_of(*limits),
    ).pick("limit", "doors", "within", "out")
    assert sorted(compared) == [("elsewhere", 1, 0, 1), ("plumb", 1, 1, 0)]


@pytest.mark.parametrize(
    ("out", "doors", "low", "high"),
    # Newcombe (1998), Stat. Med. 17, 857-872, table I, method 3: 15 of 148, 0 of 20, 1 of 29 (from memory)
    [(15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_a_share_of_doors_out_has_its_interval(run_model, out, doors, low, high):
    # a door without a reading counts for nothing
    numbers = range(1, doors + 2)
    decisions = pl.DataFrame(
        {
            "limit": "plumb", "install_id": [f"D{number}" for number in numbers], "deviation": "jamb_plumb_error",
            "decision": [
                "not recorded" if number > doors else "out" if number <= out else "within" for number in numbers
            ],
        }
    )  # fmt: skip
    found = run_model("limit_comparison", limit_decisions=decisions, catalogue_limits=limits_of(PLUMB))
    [(share, *ends)] = found.pick("out_share", "out_low", "out_high")
    assert share == pytest.approx(out / doors)
    assert ends == pytest.approx([low, high], abs=6e-5)


def test_without_readings_there_is_no_share(run_model):
    found = run_model("limit_comparison", installs=DOORS, deviations=deviations_of(), catalogue_limits=limits_of(PLUMB))
    assert found.pick("doors", "out_share", "out_low", "out_high") == [(1, None, None, None)]


def test_the_whole_drop_is_judged_only_where_its_split_is_not_recorded(run_model):
    assert "leaf drop" in decided(run_model, ("leaf_drop", 3.0, 0.1, None))
    assert "leaf drop" not in decided(run_model, ("leaf_drop", 3.0, 0.1, None), ("leaf_drop_rotation", 1.0, 0.1, None))


def test_a_step_is_out_by_one_limit_or_one_failed_check(run_model):
    rows = [
        ("D1", "sill_level_error", "sill", 9.0), ("D1", "end_dams_sealed", "sill", 0.0),
        ("D1", "track_clean", "handover", 1.0), ("D1", "aperture_width_spread", "survey", 40.0),
        ("D1", "toe_and_heel", "glazing", None),
    ]  # fmt: skip
    frame = pl.DataFrame(rows, schema=["install_id", "deviation", "step", "value"], orient="row").with_columns(
        uncertainty=pl.lit(0.1), readings=1, unclipped=pl.lit(None, pl.Float64), undated=0
    )
    found = run_model("door_steps", installs=DOORS, deviations=frame).pick("step", "is_out", "is_undecided")
    assert sorted(found) == [("handover", True, False), ("sill", True, False), ("survey", False, False)]


def test_only_a_limit_on_the_worse_side_governs_what_could_be_spared(run_model):
    # sill_bow is worse when higher, fixing_corner_distance when lower
    limits = [
        Limit("floor", "sill_bow", low=5.0),
        Limit("band", "sill_bow", low=0.5, high=3.0),
        Limit("ceiling", "fixing_corner_distance", high=400.0),
    ]
    given = deviations_of(("sill_bow", 0.6, None, None), ("fixing_corner_distance", 120.0, None, None))
    found = run_model("door_limits", installs=DOORS, deviations=given, catalogue_limits=limits_of(*limits))
    # nearest to 0.6 is the floor of the band, but its ceiling is what a bow can exceed; the corner has none
    assert found.pick("install_id", "amounts") == [("D1", [3.0])]


def test_a_deviation_worse_on_both_sides_keeps_both_ends_of_its_tightest_band(run_model):
    catalogue = catalogue_tables(load_catalogue())["catalogue_deviations"].with_columns(
        worse=pl.when(pl.col("name") == "sill_bow").then(pl.lit("both")).otherwise("worse")
    )
    limits = limits_of(Limit("band", "sill_bow", low=0.5, high=3.0), Limit("wide", "sill_bow", low=0.1, high=9.0))
    given = deviations_of(("sill_bow", 0.6, None, None))
    found = run_model(
        "door_limits", installs=DOORS, deviations=given, catalogue_limits=limits, catalogue_deviations=catalogue
    )
    assert found.pick("install_id", "amounts", "lows") == [("D1", [3.0], [0.5])]
