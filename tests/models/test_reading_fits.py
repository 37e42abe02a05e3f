"""Reading fits: places read twice, what is written decides the resolution, and fits against reference libraries."""

import math

import numpy as np
import polars as pl
import pytest
import statsmodels.api as sm

DOOR = "install_id | fitted_on  | width_mm | height_mm | leaves\n D1 | 2024-03-01 | 4000 | 2100 | 4"
SIX_LENGTHS = """
    install_id | measure        | station | position_mm | value
    D1         | frame_width    |         | 0           | 4000
    D1         | frame_width    |         | 2100        | 4001
    D1         | frame_height   |         | 0           | 2100
    D1         | frame_height   |         | 4000        | 2101
    D1         | frame_diagonal | rising  |             | 4521
    D1         | frame_diagonal | falling |             | 4516
"""


def fit(run_model, readings, *columns, **given_tables):
    given_tables.setdefault("installs", DOOR)
    return run_model("member_fits", readings=readings, **given_tables).frame.select(columns).rows()


def deviation(run_model, name, readings, column="value", **given_tables):
    given_tables.setdefault("installs", DOOR)
    result = run_model("deviations", readings=readings, **given_tables).frame.filter(pl.col("deviation") == name)
    return result[column].item()


def test_repeats_of_one_place_on_one_day_are_averaged(run_model):
    readings = """
        install_id | measure      | member | position_mm | value | read_on    | read_by
        D1         | clear_height | head   | 0           | 2100  | 2024-02-20 | Ann
        D1         | clear_height | head   | 0           | 2104  | 2024-02-20 | Bob
        D1         | clear_height | head   | 4000        | 2098  | 2024-02-20 | Ann
    """
    assert deviation(run_model, "head_parallel_error", readings) == 4.0
    assert fit(run_model, readings, "mean", "lean") == [(2100.0, -4.0)]


def test_the_latest_day_of_a_place_counts_and_older_days_do_not(run_model):
    readings = """
        install_id | measure        | station | value | read_on
        D1         | frame_diagonal | rising  | 4530  | 2024-02-20
        D1         | frame_diagonal | rising  | 4521  | 2024-02-25
        D1         | frame_diagonal | falling | 4515  | 2024-02-20
        D1         | frame_diagonal | rising  | 4590  | 2024-04-01
    """
    assert deviation(run_model, "frame_diagonal_difference", readings) == 6.0
    assert deviation(run_model, "frame_diagonal_difference", readings, "readings") == 2


def test_an_undated_reading_of_a_place_gives_way_to_a_dated_one(run_model):
    readings = """
        install_id | measure      | member | position_mm | value | read_on
        D1         | clear_height | head   | 0           | 2090  |
        D1         | clear_height | head   | 0           | 2100  | 2024-02-20
        D1         | clear_height | head   | 4000        | 2097  |
    """
    assert deviation(run_model, "head_parallel_error", readings) == 3.0
    assert deviation(run_model, "head_parallel_error", readings, "undated") == 1


def test_readings_without_a_place_are_places_of_their_own_on_their_latest_day(run_model):
    readings = """
        install_id | measure        | value | read_on
        D1         | aperture_width | 4050  | 2024-01-10
        D1         | aperture_width | 4020  | 2024-01-20
        D1         | aperture_width | 4020  | 2024-01-20
        D1         | aperture_width | 4014  | 2024-01-20
    """
    assert deviation(run_model, "aperture_width_spread", readings) == 6.0
    assert deviation(run_model, "aperture_width_spread", readings, "readings") == 3


def test_undated_readings_without_a_place_count(run_model):
    readings = """
        install_id | measure        | value
        D1         | aperture_width | 4050
        D1         | aperture_width | 4044
    """
    assert deviation(run_model, "aperture_width_spread", readings) == 6.0
    assert deviation(run_model, "aperture_width_spread", readings, "undated") == 2


def test_a_sill_read_at_left_centre_and_right_has_a_level_and_a_bow(run_model):
    readings = """
        install_id | measure     | member    | station | position_mm | value
        D1         | sill_height | sill      | left    |             | 0
        D1         | sill_height | sill      | centre  |             | 3
        D1         | sill_height | sill      | Right   |             | 4
        D1         | jamb_face   | left_jamb | bottom  |             | 0
        D1         | jamb_face   | left_jamb | top     |             | 2
    """
    assert deviation(run_model, "sill_level_error", readings) == pytest.approx(4)
    assert deviation(run_model, "sill_bow", readings) == pytest.approx(2 / 3)
    assert deviation(run_model, "sill_chord_bow", readings) == pytest.approx(1)
    assert deviation(run_model, "jamb_plumb_error", readings) == pytest.approx(2)


def test_gaps_whose_sides_are_not_named_show_no_drop(run_model):
    named = """
        install_id | measure       | member | station | value
        D1         | head_gap      | leaf_1 | hinge   | 4
        D1         | head_gap      | leaf_1 | lock    | 8
        D1         | threshold_gap | leaf_1 | hinge   | 8
        D1         | threshold_gap | leaf_1 | lock    | 5
    """
    assert deviation(run_model, "leaf_drop", named) == 3.5
    unnamed = named.replace("hinge", "     ").replace("lock", "    ")
    assert deviation(run_model, "leaf_drop", unnamed) is None
    assert deviation(run_model, "gap_taper", unnamed) == 3.0


def test_many_stations_are_told_apart_without_a_second_look(run_model):
    rows = "".join(f"D1 | seal_compression | leaf_1 | {number} | {number}\n" for number in range(1, 41))
    readings = "install_id | measure | member | station | value\n" + rows
    assert run_model("settled_readings", installs=DOOR, readings=readings) == []


def test_stations_that_share_a_bit_only_cost_a_second_look(run_model):
    rows = "".join(f"D1 | seal_compression | leaf_1 | {number} | {number}\n" for number in range(1, 121))
    readings = "install_id | measure | member | station | value\n" + rows
    assert len(run_model("settled_readings", installs=DOOR, readings=readings)) == 120
    assert deviation(run_model, "seal_compression_spread", readings) == 119.0


def test_a_place_is_a_station_and_a_position_together(run_model):
    readings = """
        install_id | measure      | member | station | position_mm | value | read_on
        D1         | clear_height | head   | a       | 0           | 2100  | 2024-02-20
        D1         | clear_height | head   | b       | 0           | 2106  | 2024-02-20
        D1         | clear_height | head   | a       | 4000        | 2100  | 2024-02-21
    """
    assert deviation(run_model, "head_parallel_error", readings) == 6.0


def test_one_lean_in_degrees_makes_a_slope_and_carries_the_error_of_one_reading(run_model):
    written = 0.1
    value = 2100 * math.tan(math.radians(written))
    readings = f"""
        install_id | measure   | member    | position_mm | value   | written_value | written_unit
        D1         | jamb_face | left_jamb | 2100        | {value} | {written}     | deg
    """
    assert deviation(run_model, "jamb_plumb_error", readings) == pytest.approx(value)
    assert deviation(run_model, "jamb_plumb_error", readings, "readings") == 1
    # a tenth of a degree is the finest place written; its own step over the same height is the value itself
    assert deviation(run_model, "jamb_plumb_error", readings, "uncertainty") == pytest.approx(value / math.sqrt(12))


@pytest.mark.parametrize(
    ("written", "step"),
    [("2", 25.4), ("2.5", 12.7), ("2.125", 25.4 / 8), ("2.0625", 25.4 / 16), ("2.3", 2.54)],
)
def test_inches_are_as_fine_as_the_fraction_written(run_model, written, step):
    readings = f"""
        install_id | measure       | value                    | written_value | written_unit
        D1         | running_force | {float(written) * 25.4!r} | {written}     | in
    """
    found = run_model("reading_fits", installs=DOOR, readings=readings).pick("step")
    assert found == [pytest.approx(step)]


def test_repeats_tell_more_than_the_finest_step_where_there_are_enough_of_them(run_model):
    rng = np.random.default_rng(4)
    doors = "install_id | fitted_on\n" + "".join(f"D{k} | 2024-03-01\n" for k in range(400))
    lines = [
        f"D{k} | sill_tilt | sill | 0 | {round(error, 1)} | mm | 2024-02-20 | reader {reader}"
        for k in range(400)
        for reader, error in enumerate(rng.normal(scale=0.8, size=2))
    ]
    readings = "\n".join(["install_id|measure|member|position_mm|value|unit|read_on|read_by", *lines])
    result = run_model("reading_errors", installs=doors, readings=readings)
    assert result.pick("freedom", "is_repeated") == [(400, True)]
    assert result.pick("u_random") == [pytest.approx(0.8, rel=0.1)]


def test_readings_of_other_days_are_no_repeats(run_model):
    lines = [f"D1 | sill_tilt | sill | {k} | {day} | 2024-02-0{day}" for k in range(30) for day in (1, 2)]
    readings = "\n".join(["install_id | measure | member | position_mm | value | read_on", *lines])
    found = run_model("reading_errors", installs=DOOR, readings=readings).pick("freedom", "u_random")
    assert found == [(0, pytest.approx(1 / math.sqrt(12)))]


def test_six_lengths_of_equal_uncertainty_close_within_226_of_it(run_model):
    # plane geometry: sensitivities 1, 1, h/w twice and d/w twice make 2 d/w = 2.26 for 4000 x 2100
    assert deviation(run_model, "tape_misclosure", SIX_LENGTHS, "uncertainty") == pytest.approx(
        2.259 / math.sqrt(12), rel=1e-3
    )


def test_five_lengths_are_too_few_to_close(run_model):
    five = "\n".join(line for line in SIX_LENGTHS.splitlines() if "| 4001" not in line)
    assert deviation(run_model, "tape_misclosure", five) is None


def test_sill_and_head_may_be_told_apart_by_member(run_model):
    by_position = deviation(run_model, "tape_misclosure", SIX_LENGTHS)
    by_member = """
        install_id | measure        | member     | station | value
        D1         | frame_width    | sill       |         | 4000
        D1         | frame_width    | head       |         | 4001
        D1         | frame_height   | left_jamb  |         | 2100
        D1         | frame_height   | right_jamb |         | 2101
        D1         | frame_diagonal |            | rising  | 4521
        D1         | frame_diagonal |            | falling | 4516
    """
    assert deviation(run_model, "tape_misclosure", by_member) == pytest.approx(by_position)


def one_error_each(*measures, u):
    """Table reading_errors: the same standard uncertainty for every reading of these measures, nothing in common."""
    rows = [(measure, "", u, 0.0, 0.0) for measure in measures]
    return pl.DataFrame(rows, schema=["measure", "instrument", "u_random", "u_common", "u_tilt"], orient="row")


def random_lines(n_doors):
    """Door to positions and values: 3 to 12 places at random, values to a tenth."""
    rng = np.random.default_rng(11)
    return {
        f"D{door:03}": (rng.choice(6000, size, replace=False), np.round(rng.normal(scale=20, size=size), 1))
        for door, size in enumerate(rng.integers(3, 13, n_doors))
    }


def test_lines_agree_with_least_squares_of_a_reference_library(run_model):
    lines = random_lines(80)
    doors = "install_id | fitted_on\n" + "".join(f"{door} | 2024-03-01\n" for door in lines)
    rows = [
        f"{door} | sill_height | sill | {at} | {value}"
        for door, pairs in lines.items()
        for at, value in zip(*pairs, strict=True)
    ]
    readings = "\n".join(["install_id | measure | member | position_mm | value", *rows])
    errors = one_error_each("sill_height", u=0.5)
    columns = ("install_id", "lean", "u_lean", "bow", "u_bow", "chord_bow")
    found = fit(run_model, readings, *columns, installs=doors, reading_errors=errors)
    assert len(found) == len(lines)
    for door, lean, u_lean, bow, u_bow, chord in found:
        at, value = lines[door]
        span = at.max() - at.min()
        reference = sm.OLS(value, sm.add_constant(at.astype(float))).fit()
        assert lean == pytest.approx(reference.params[1] * span, abs=1e-9)
        assert u_lean == pytest.approx(0.5 * span * math.sqrt(reference.normalized_cov_params[1, 1]), rel=1e-9)
        worst = np.abs(reference.resid).argmax()
        assert bow == pytest.approx(abs(reference.resid[worst]), abs=1e-9)
        if len(at) > 3:  # of three residuals two may tie
            leverage = reference.get_influence().hat_matrix_diag[worst]
            assert u_bow == pytest.approx(0.5 * math.sqrt(1 - leverage), rel=1e-6)
        first, last = value[at.argmin()], value[at.argmax()]
        offsets = np.abs(value - first - (last - first) * (at - at.min()) / span)
        assert chord == pytest.approx(offsets.max(), abs=1e-9)


def along(measure, member, places, values):
    return [(measure, member, "", place, value) for place, value in zip(places, values, strict=True)]


def pair(measure, member, first, second):
    """Two readings at the ends that their measure has."""
    ends = {"side_gap": ("top", "bottom"), "frame_diagonal": ("rising", "falling")}
    names = ends.get(measure, ("hinge", "lock"))
    return [(measure, member, name, "", value) for name, value in zip(names, (first, second), strict=True)]


DIPPED = along("sill_height", "sill", (0, 750, 1500, 2250, 3000), (0.0, 0.0, 4.0, 0.0, 0.0))
LEANING = [*along("jamb_face", "left_jamb", (0, 700, 2100), (0.0, 1.4, 4.2)),
           *along("jamb_face", "right_jamb", (0, 700, 2100), (0.0, -1.4, -4.2))]  # fmt: skip
DROPPED = [*pair("head_gap", "leaf_1", 5.0, 14.0), *pair("threshold_gap", "leaf_1", 9.0, 4.0),
           *pair("side_gap", "leaf_1", 7.0, 3.0)]  # fmt: skip
SIX = [*along("frame_width", "", (0, 2100), (4000.0, 4001.0)), *along("frame_height", "", (0, 4000), (2100.0, 2101.0)),
       *pair("frame_diagonal", "", 4521.0, 4516.0)]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "rows"),
    [
        ("sill_bow", DIPPED),
        ("sill_chord_bow", DIPPED),
        ("frame_racking", pair("frame_diagonal", "", 4540.0, 4500.0)),
        ("jamb_twist", LEANING),
        ("leaf_drop", DROPPED),
        ("leaf_drop_racking", DROPPED),
        ("tape_misclosure", SIX),
    ],
)
def test_each_formula_states_the_spread_that_simulated_readings_show(run_model, name, rows):
    rng = np.random.default_rng(7)
    n, u = 500, 0.4
    doors = "install_id | fitted_on | width_mm | height_mm | leaves\n" + "".join(
        f"D{k} | 2024-03-01 | 4000 | 2100 | 4\n" for k in range(n)
    )
    lines = [
        f"D{k} | {measure} | {member} | {station} | {at} | {float(value + error)!r}"
        for k in range(n)
        for (measure, member, station, at, value), error in zip(rows, rng.normal(scale=u, size=len(rows)), strict=True)
    ]
    readings = "\n".join(["install_id | measure | member | station | position_mm | value", *lines])
    errors = one_error_each(*sorted({row[0] for row in rows}), u=u)
    frame = run_model("deviations", installs=doors, readings=readings, reading_errors=errors).frame
    found = frame.filter(pl.col("deviation") == name)
    assert found.height == n
    assert found["value"].std() == pytest.approx(found["uncertainty"].mean(), rel=0.1)
