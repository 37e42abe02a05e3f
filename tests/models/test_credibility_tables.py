"""What the tests of a crew's record rest on: days, recording steps, blocks of readings."""

import pytest

INSTALLS = """
    install_id | crew | surveyed_on | fitted_on  | handed_over_on | removed_on
    D1         | A    | 2024-02-01  | 2024-03-10 | 2024-03-12     | 2025-01-01
    D2         | A    |             | 2024-03-10 |                |
"""
CREWS = """
    crew | joined_on  | left_on
    A    | 2024-01-15 | 2025-03-01
"""
CALLBACKS = """
    callback_id | install_id | reported_on
    C1          | D1         | 2024-06-01
"""


@pytest.mark.parametrize(
    ("install_id", "measure", "read_on", "impossible"),
    [
        ("D1", "aperture_width", "2024-02-01", 0),  # the day of the survey
        ("D1", "aperture_width", "2024-01-31", 1),  # before it
        ("D1", "head_gap", "2024-02-09", 0),  # thirty days before fitting
        ("D1", "head_gap", "2024-02-08", 1),
        ("D1", "head_gap", "2024-03-12", 0),  # the day of handover
        ("D1", "head_gap", "2024-05-31", 1),  # after it, nobody had called
        ("D1", "head_gap", "2024-06-01", 0),  # a service visit
        ("D1", "head_gap", "2025-01-02", 1),  # the door was gone
        ("D2", "aperture_width", "2023-03-10", 0),  # no survey known: a year before fitting
        ("D2", "aperture_width", "2023-03-09", 1),
        ("D2", "head_gap", "2024-09-01", 0),  # no handover known
        ("D2", "head_gap", "2025-03-02", 1),  # the crew had left
    ],
)
def test_a_day_is_impossible_only_where_nobody_can_have_measured(run_model, install_id, measure, read_on, impossible):
    reading = f"""
        install_id   | measure   | value | read_on
        {install_id} | {measure} | 5     | {read_on}
    """
    result = run_model("reading_days", installs=INSTALLS, readings=reading, crews=CREWS, callbacks=CALLBACKS)
    assert result == [(install_id, 1, impossible)]


def test_undated_readings_are_on_no_day(run_model):
    reading = """
        install_id | measure  | value
        D1         | head_gap | 5
    """
    assert run_model("reading_days", installs=INSTALLS, readings=reading) == []


@pytest.mark.parametrize(
    ("values", "step"),
    [
        ((5, 10, -15), 5.0),
        ((5, 11, 3), 1.0),
        ((5.5, 11, 3), 0.5),
        ((5.3, 11, 3), 0.1),
        ((5.37, 1, 3), 0.01),
        ((5.3718, 1, 3), None),
    ],
)
def test_the_step_is_the_coarsest_that_holds(run_model, values, step):
    lines = "\n".join(f"D1 | jamb_face | {value}" for value in values)
    readings = f"install_id | measure | value\n{lines}"
    assert run_model("recording_steps", installs=INSTALLS, readings=readings).pick("step") == [step]


@pytest.mark.parametrize(
    ("values", "spread"),
    [
        (tuple(range(1, 41)), 11.69),  # the standard deviation
        ((1,) * 20 + (2,) * 10 + (3,) * 8 + (40, 50), 0.78),  # many small, two large: digits of the small are uneven
    ],
)
def test_a_few_large_readings_do_not_spread_the_digits_of_many_small_ones(run_model, values, spread):
    lines = "\n".join(f"D1 | jamb_face | {value}" for value in values)
    readings = f"install_id | measure | value\n{lines}"
    found = run_model("recording_steps", installs=INSTALLS, readings=readings).pick("spread")
    assert found == [pytest.approx(spread, abs=0.005)]


BLOCKS = """
    install_id | measure   | member    | position_mm | value | read_on
    D1         | jamb_face | left_jamb | 0           | 1.0   | 2024-03-10
    D1         | jamb_face | left_jamb | 1000        | 2.0   | 2024-03-10
    D1         | jamb_face | left_jamb | 2000        | 3.0   | 2024-03-10
    D2         | jamb_face | left_jamb | 0           | 1.0   | 2024-03-10
    D2         | jamb_face | left_jamb | 1010        | 2.0   | 2024-03-10
    D2         | jamb_face | left_jamb | 2020        | 3.0   | 2024-03-10
    D1         | jamb_edge | left_jamb | 0           | 4.0   | 2024-03-10
    D1         | jamb_edge | left_jamb | 1000        | 4.0   | 2024-03-10
    D1         | jamb_edge | left_jamb | 2000        | 4.0   | 2024-03-10
    D2         | jamb_edge | left_jamb | 0           | 4.0   | 2024-03-10
    D2         | jamb_edge | left_jamb | 1010        | 4.1   | 2024-03-10
"""


def test_blocks_are_twins_whatever_the_doors_sizes_and_flat_ones_are_no_twins(run_model):
    result = run_model("reading_blocks", installs=INSTALLS, readings=BLOCKS)
    assert result.pick("install_id", "measure", "readings", "twin", "is_flat") == [
        ("D1", "jamb_edge", 3, None, True),
        ("D1", "jamb_face", 3, 1, False),
        ("D2", "jamb_edge", 2, 2, None),
        ("D2", "jamb_face", 3, 1, False),
    ]


def test_lengths_plans_counts_and_other_units_are_not_judged_by_their_digits(run_model):
    readings = """
        install_id | measure       | value | written_value | written_unit
        D1         | frame_width   | 3000  |               |
        D1         | fixing        | 250   |               |
        D1         | hinge_packers | 2     |               |
        D1         | head_gap      | 3.175 | 0.125         | in
        D1         | head_gap      | 5.3   |               |
    """
    result = run_model("offset_readings", installs=INSTALLS, readings=readings)
    assert result.pick("measure", "value") == [("head_gap", 5.3)]
