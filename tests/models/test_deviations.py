"""Deviations: which readings count, what is too few, how sure each value is."""

import math

import numpy as np
import polars as pl
import pytest
from polars.testing import assert_frame_equal

DOORS = """
    install_id | crew | fitted_on  | handed_over_on | width_mm | height_mm | leaves
    D1         | A    | 2024-01-10 | 2024-01-20     | 3000     | 2100      | 3
"""
SILL = """
    install_id | measure     | member | position_mm | value | unit | read_on
    D1         | sill_height | sill   | 0           | 0     | mm   | 2024-01-10
    D1         | sill_height | sill   | 1500        | 1     | mm   | 2024-01-10
    D1         | sill_height | sill   | 3000        | 2     | mm   | 2024-01-10
"""


def values(run_model, readings, **given):
    given.setdefault("installs", DOORS)
    return dict(run_model("deviations", readings=readings, **given).pick("deviation", "value"))


def test_a_reading_after_handover_does_not_count(run_model):
    late = SILL + "    D1 | sill_height | sill | 3000 | 9 | mm | 2024-01-21\n"
    assert values(run_model, late)["sill_level_error"] == pytest.approx(2)


def test_a_reading_from_the_first_callback_on_does_not_count(run_model):
    calls = """
        callback_id | install_id | reported_on
        C1          | D1         | 2024-01-15
    """
    late = SILL + "    D1 | sill_height | sill | 3000 | 9 | mm | 2024-01-15\n"
    assert values(run_model, late, callbacks=calls)["sill_level_error"] == pytest.approx(2)


def test_an_undated_reading_counts_and_is_flagged(run_model):
    undated = SILL.replace("D1         | sill_height | sill   | 3000        | 2     | mm   | 2024-01-10",
                           "D1         | sill_height | sill   | 3000        | 2     | mm   |")  # fmt: skip
    found = run_model("deviations", installs=DOORS, readings=undated).pick("deviation", "value", "readings", "undated")
    assert ("sill_level_error", pytest.approx(2), 3, 1) in found


def test_of_two_readings_of_one_place_the_latest_counts(run_model):
    again = SILL + "    D1 | sill_height | sill | 3000 | 5 | mm | 2024-01-12\n"
    assert values(run_model, again)["sill_level_error"] == pytest.approx(5)


def test_fixings_without_a_number_are_places_of_their_own(run_model):
    fixings = """
        install_id | measure | member    | value | unit | read_on
        D1         | fixing  | left_jamb | 200   | mm   | 2024-01-10
        D1         | fixing  | left_jamb | 700   | mm   | 2024-01-10
        D1         | fixing  | left_jamb | 1300  | mm   | 2024-01-11
        D1         | fixing  | left_jamb | 1900  | mm   | 2024-01-11
    """
    found = values(run_model, fixings)
    assert found["fixing_spacing"] == 600
    assert found["fixing_shortfall"] == 0
    assert found["fixing_corner_distance"] == 200


def test_one_place_is_too_few_for_a_level_and_two_for_a_bow(run_model):
    one = "\n".join(SILL.splitlines()[:3]) + "\n"
    found = values(run_model, one)
    assert found["sill_level_error"] is None
    two = "\n".join(SILL.splitlines()[:4]) + "\n"
    found = values(run_model, two)
    assert found["sill_level_error"] == pytest.approx(1)
    assert found["sill_bow"] is None
    assert found["sill_chord_bow"] is None


def test_the_worst_member_stands_for_the_door(run_model):
    jambs = """
        install_id | measure   | member     | position_mm | value | unit
        D1         | jamb_face | left_jamb  | 0           | 0     | mm
        D1         | jamb_face | left_jamb  | 2000        | 1     | mm
        D1         | jamb_edge | right_jamb | 0           | 4     | mm
        D1         | jamb_edge | right_jamb | 2000        | 1     | mm
    """
    found = values(run_model, jambs)
    assert found["jamb_plumb_error"] == pytest.approx(3)
    assert found["jamb_lean_out"] == pytest.approx(1)
    assert found["jamb_twist"] is None


def test_a_sill_that_falls_out_has_no_fall_in_but_keeps_its_distance(run_model):
    tilt = """
        install_id | measure   | member | position_mm | value | unit
        D1         | sill_tilt | sill   | 0           | 2     | mm
        D1         | sill_tilt | sill   | 1500        | 3     | mm
    """
    found = run_model("deviations", installs=DOORS, readings=tilt).pick("deviation", "value", "unclipped")
    assert found == [("sill_tilt_in", 0, -2)]


def test_a_fixing_needs_a_packer_on_each_side(run_model):
    jamb = """
        install_id | measure | member    | station | value | unit
        D1         | fixing  | left_jamb | 1       | 200   | mm
        D1         | fixing  | left_jamb | 2       | 800   | mm
        D1         | packer  | left_jamb | 1       | 150   | mm
        D1         | packer  | left_jamb | 2       | 260   | mm
        D1         | packer  | left_jamb | 3       | 750   | mm
        D1         | packer  | left_jamb | 4       | 901   | mm
    """
    assert values(run_model, jamb)["unpackered_fixings"] == pytest.approx(0.5)


def test_packers_not_recorded_are_not_missing_packers(run_model):
    jamb = """
        install_id | measure | member    | station | value | unit
        D1         | fixing  | left_jamb | 1       | 200   | mm
        D1         | fixing  | left_jamb | 2       | 800   | mm
    """
    assert values(run_model, jamb)["unpackered_fixings"] is None


def test_a_check_is_its_share_failed(run_model):
    checks = """
        install_id | check        | member | outcome        | checked_on
        D1         | toe_and_heel | leaf_1 | pass           | 2024-01-11
        D1         | toe_and_heel | leaf_2 | fail           | 2024-01-11
        D1         | toe_and_heel | leaf_3 | not_applicable | 2024-01-11
        D1         | sill_bedded  |        | not_applicable | 2024-01-11
    """
    found = dict(run_model("deviations", installs=DOORS, checks=checks).pick("deviation", "value"))
    assert found == {"toe_and_heel": pytest.approx(0.5), "sill_bedded": None}


INSTRUMENTS = """
    instrument | kind  | max_error | unit
    tape       | tape  | 2         | mm
    level      | level | 0.5       | mm/m
"""


def test_a_common_error_cancels_in_a_difference_and_stays_in_a_minimum(run_model):
    readings = """
        install_id | measure          | member | station | value | unit | instrument
        D1         | seal_compression | leaf_1 | 1       | 2     | mm   | tape
        D1         | seal_compression | leaf_1 | 2       | 3     | mm   | tape
    """
    found = dict(
        run_model("deviations", installs=DOORS, readings=readings, instruments=INSTRUMENTS).pick(
            "deviation", "uncertainty"
        )
    )
    random, common = 1 / math.sqrt(12), 2 / math.sqrt(3)
    assert found["seal_compression_spread"] == pytest.approx(math.sqrt(2) * random)
    assert found["seal_compression_low"] == pytest.approx(math.hypot(random, common))


def test_a_levels_own_error_tilts_what_it_reads(run_model):
    # 0.5 mm/m taken as rectangular over 2.1 m is 0.61 mm
    readings = """
        install_id | measure   | member    | position_mm | value | unit | instrument
        D1         | jamb_edge | left_jamb | 0           | 0.00  | mm   | level
        D1         | jamb_edge | left_jamb | 2100        | 2.61  | mm   | level
    """
    found = dict(
        run_model("deviations", installs=DOORS, readings=readings, instruments=INSTRUMENTS).pick(
            "deviation", "uncertainty"
        )
    )
    assert found["jamb_plumb_error"] == pytest.approx(0.606, abs=0.001)


def test_counts_carry_no_uncertainty(run_model):
    readings = """
        install_id | measure       | member | station | value | unit
        D1         | hinge_packers | leaf_1 | 1       | 2     | count
        D1         | hinge_packers | leaf_1 | 2       | 5     | count
    """
    found = run_model("deviations", installs=DOORS, readings=readings).pick("deviation", "value", "uncertainty")
    assert found == [("hinge_packer_count", 5, None)]


@pytest.mark.parametrize("seed", range(3))
def test_stated_uncertainty_is_the_spread_of_many_doors_read_with_the_same_error(run_model, seed):
    # 400 doors with one true sill, each reading with a normal error of 0.5 mm
    rng = np.random.default_rng(seed)
    n = 400
    places = [0, 700, 1500, 2200, 3000]
    doors = ["install_id | crew | fitted_on"] + [f"D{k} | A | 2024-01-10" for k in range(n)]
    lines = ["install_id | measure | member | position_mm | value | unit"]
    for k in range(n):
        for place in places:
            value = 0.004 * place + rng.normal(scale=0.5)
            lines.append(f"D{k} | sill_height | sill | {place} | {value:.6f} | mm")
    errors = pl.DataFrame(
        {"measure": ["sill_height"], "instrument": [""], "u_random": [0.5], "u_common": [0.0], "u_tilt": [0.0]}
    )
    given = {"installs": "\n".join(doors), "readings": "\n".join(lines), "reading_errors": errors}
    found = run_model("deviations", **given).pick("deviation", "value", "uncertainty")
    level = np.array([value for name, value, _ in found if name == "sill_level_error"])
    stated = {uncertainty for name, _, uncertainty in found if name == "sill_level_error"}
    assert len(stated) == 1
    assert level.std() == pytest.approx(stated.pop(), rel=0.12)
    reference = [abs(np.polyfit(places, row, 1)[0]) * 3000 for row in _rows(lines, len(places))]
    assert sorted(level) == pytest.approx(sorted(reference), abs=1e-9)


def _rows(lines, n):
    numbers = [float(line.split("|")[4]) for line in lines[1:]]
    return [numbers[k : k + n] for k in range(0, len(numbers), n)]


OWN = {
    "measure": [{"name": "bolt_throw", "unit": "mm"}],
    "deviation": [
        {"name": f"bolt_{how}", "step": "adjustment", "measure": "bolt_throw", "how": how, "unit": "mm"}
        for how in ("value", "spread", "max", "min", "mean", "level", "bow", "step", "difference")
    ],
}


def test_a_firms_own_deviations_take_the_same_path(run_model):
    from pipeline.catalogue import catalogue_tables, load_catalogue

    tables = catalogue_tables(load_catalogue(OWN))
    catalogue = {name: tables[name] for name in ("catalogue_measures", "catalogue_deviations")}
    readings = """
        install_id | measure    | member | station | position_mm | value | unit
        D1         | bolt_throw | leaf_1 | 1       | 0           | 10    | mm
        D1         | bolt_throw | leaf_1 | 2       | 1000        | 13    | mm
        D1         | bolt_throw | leaf_1 | 3       | 2000        | 11    | mm
        D1         | bolt_throw | leaf_2 | 1       | 0           | 20    | mm
        D1         | bolt_throw | leaf_2 | 2       | 1000        | 14    | mm
    """
    found = values(run_model, readings, **catalogue)
    assert found["bolt_value"] == found["bolt_mean"] == pytest.approx(13.6)
    assert (found["bolt_spread"], found["bolt_max"], found["bolt_min"]) == (10, 20, 10)
    assert found["bolt_level"] == pytest.approx(6)
    assert found["bolt_bow"] == pytest.approx(5 / 3)
    assert found["bolt_step"] == pytest.approx(6)
    assert found["bolt_difference"] == pytest.approx(6)


# Members as bad as each other, one read to 0.1 mm and one to 1 mm; the head is as far from its line at two places.
TIED = """
    install_id | measure      | member     | station | position_mm | value | unit | instrument
    D1         | jamb_face    | left_jamb  |         | 0           | 0.1   | mm   | fine
    D1         | jamb_face    | left_jamb  |         | 1000        | 1.1   | mm   | fine
    D1         | jamb_face    | left_jamb  |         | 2000        | 2.1   | mm   | fine
    D1         | jamb_face    | right_jamb |         | 0           | 0     | mm   | coarse
    D1         | jamb_face    | right_jamb |         | 2000        | 2     | mm   | coarse
    D1         | sill_height  | inner      |         | 0           | 0.1   | mm   | fine
    D1         | sill_height  | inner      |         | 1500        | 1.1   | mm   | fine
    D1         | sill_height  | inner      |         | 3000        | 0.1   | mm   | fine
    D1         | sill_height  | outer      |         | 0           | 0     | mm   | coarse
    D1         | sill_height  | outer      |         | 1500        | 1     | mm   | coarse
    D1         | sill_height  | outer      |         | 3000        | 0     | mm   | coarse
    D1         | side_gap     | leaf_1     | top     |             | 3.1   | mm   | fine
    D1         | side_gap     | leaf_1     | bottom  |             | 1.1   | mm   | fine
    D1         | side_gap     | leaf_2     | top     |             | 3     | mm   | coarse
    D1         | side_gap     | leaf_2     | bottom  |             | 1     | mm   | coarse
    D1         | clear_height | head       |         | 0           | 0.2   | mm   | fine
    D1         | clear_height | head       |         | 700         | 0.8   | mm   | fine
    D1         | clear_height | head       |         | 1400        | 0.1   | mm   | fine
    D1         | clear_height | head       |         | 2800        | 0.8   | mm   | fine
"""


def test_the_order_of_the_records_does_not_matter_and_of_members_alike_the_less_certain_counts(run_model):
    header, *lines = TIED.strip().splitlines()
    found = run_model("deviations", installs=DOORS, readings=TIED)
    uncertainty = dict(found.pick("deviation", "uncertainty"))
    coarse = 1 / math.sqrt(12)
    assert uncertainty["jamb_plumb_error"] == pytest.approx(coarse * math.sqrt(2))
    assert uncertainty["side_gap_taper"] == pytest.approx(coarse * math.sqrt(2))
    assert uncertainty["sill_chord_bow"] == pytest.approx(coarse * math.sqrt(1.5))
    assert uncertainty["sill_bow"] == pytest.approx(coarse * math.sqrt(1 - 1 / 3))
    for seed in range(6):
        shuffled = "\n".join([header, *np.random.default_rng(seed).permutation(lines)])
        again = run_model("deviations", installs=DOORS, readings=shuffled)
        assert_frame_equal(again.frame, found.frame, rel_tol=1e-9, abs_tol=1e-9)
