"""The geometry of a door's drawing against worked examples of plane geometry, and against its own definitions."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.door.geometry import LeafGaps, far_apart, fitted_line, racking, without_packers
from tests.door.agreement import bow


def test_racking_of_the_worked_example() -> None:
    # w 4000, h 2100, d1 4521, d2 4515 → 3.39 mm (computed by the law of cosines; no published source)
    assert racking(4521, 4515, 4000) == pytest.approx(3.39, abs=0.005)


@pytest.mark.parametrize(("width", "expected"), [(1800, 2.3), (2400, 2.0), (3000, 1.8), (4000, 1.7), (6000, 1.6)])
def test_one_difference_of_diagonals_is_less_racking_the_wider_the_door(width: float, expected: float) -> None:
    # a difference of 3 mm at h 2100 (computed; no published source)
    diagonal = math.hypot(width, 2100)
    assert racking(diagonal + 1.5, diagonal - 1.5, width) == pytest.approx(expected, abs=0.05)


@given(st.floats(1000, 8000), st.floats(1800, 3000), st.floats(-0.02, 0.02))
def test_racking_is_the_push_of_a_parallelogram(width: float, height: float, lean: float) -> None:
    push, rise = height * math.sin(lean), height * math.cos(lean)
    rising, falling = math.hypot(width + push, rise), math.hypot(width - push, rise)
    assert racking(rising, falling, width) == pytest.approx(push, abs=1e-6)


def test_level_and_bow_of_the_worked_staff_set() -> None:
    # staff 1250 1251 1253 1254 1253 1252 1252 at 0..4500 by 750: −1.71 fit, −2.0 chord, residual 1.86 (computed)
    staff = (1250, 1251, 1253, 1254, 1253, 1252, 1252)
    heights = tuple((750.0 * number, 1250.0 - value) for number, value in enumerate(staff))
    line = fitted_line(heights)
    assert line is not None
    assert line.rise == pytest.approx(-1.71, abs=0.005)
    assert line.slope * 1000 == pytest.approx(-0.38, abs=0.005)
    assert bow(heights) == pytest.approx(1.86, abs=0.005)
    assert heights[-1][1] - heights[0][1] == -2


def test_plumb_and_clear_heights_of_the_worked_examples() -> None:
    # 12.0, 13.1, 14.6 at 0, 1050, 2100 → lean 2.6; heights 2098 2097 2095 2094.5 → −0.851 mm/m, −3.83 over 4500
    jamb = fitted_line(((0, 12.0), (1050, 13.1), (2100, 14.6)))
    head = fitted_line(((50, 2098), (1500, 2097), (3000, 2095), (4450, 2094.5)))
    assert jamb is not None
    assert jamb.rise == pytest.approx(2.6)
    assert head is not None
    assert head.slope * 1000 == pytest.approx(-0.851, abs=0.0005)
    assert head.slope * 4500 == pytest.approx(-3.83, abs=0.005)


def test_too_few_places_make_no_line() -> None:
    assert fitted_line(((5, 1.0),)) is None
    assert fitted_line(((5, 1.0), (5, 2.0))) is None
    assert bow(((0, 1.0), (5, 2.0))) is None


def test_drop_of_the_worked_leaf_splits_into_rotation_and_racking() -> None:
    # 5.0 8.5 8.0 5.1, W 900 at stations 800 apart; hinge gaps 4.4 and 3.6 over 1900: 3.6 = 0.38 + 3.22 (computed)
    gaps = LeafGaps(5.0, 8.5, 8.0, 5.1, 4.4, 3.6)
    assert gaps.drop is not None
    assert gaps.taper_beside is not None
    drop, rotation = gaps.drop * 900 / 800, gaps.taper_beside / 1900 * 900
    assert drop == pytest.approx(3.6, abs=0.005)
    assert rotation == pytest.approx(0.38, abs=0.005)
    assert drop - rotation == pytest.approx(3.22, abs=0.005)
    assert gaps.taper_over is not None
    assert gaps.taper_under is not None
    assert gaps.taper_over + gaps.taper_under == pytest.approx(0.6)


def test_a_gap_that_was_not_read_is_not_zero() -> None:
    gaps = LeafGaps(5.0, 8.5, None, 5.1, None, None)
    assert gaps.drop is None
    assert gaps.taper_under is None
    assert gaps.taper_beside is None
    assert not gaps.is_empty
    assert LeafGaps(None, None, None, None, None, None).is_empty


def test_six_hundred_millimetres_exactly_is_a_pass() -> None:
    # NHBC Standards 6.7.11 (read): intermediate fixings at no more than 600 mm
    assert far_apart((200, 800, 1400.0000001), 600) == ()
    assert far_apart((1400, 200, 799), 600) == ((799, 1400),)


def test_packers_stand_on_both_sides_within_a_hundred_millimetres() -> None:
    # common practice, no source
    assert without_packers((200, 800, 1400), (150, 250, 700, 900, 1350)) == (1400,)
    assert without_packers((200,), (99, 250)) == (200,)
