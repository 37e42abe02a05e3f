"""What the drawings are made of: one number a place, settled as the tables settle it."""

from datetime import date
from typing import Any

import pytest

from pipeline.door.geometry import fitted_line
from pipeline.door.places import Read, read_of
from tests.door.rows import reading

EARLY, LATE = date(2024, 1, 9), date(2024, 1, 12)


def read(*rows: dict[str, Any]) -> Read:
    return read_of(list(rows), 4000.0, 2100.0)


def test_the_latest_day_counts_and_one_day_is_averaged() -> None:
    sill = [reading("sill_height", value, "sill", position_mm=100.0, read_on=on) for value, on in
            ((9.0, None), (5.0, EARLY), (2.0, LATE), (3.0, LATE))]  # fmt: skip
    assert read(*sill).line("sill_height") == ((100.0, 2.5),)


def test_what_does_not_count_and_what_has_no_number_is_not_drawn() -> None:
    later = reading("sill_height", 9.0, "sill", position_mm=0.0, state="after its time")
    fine = reading("sill_height", None, "sill", position_mm=0.0)
    assert read(later, fine).spots == {}


def test_places_in_words_are_parts_of_the_width_or_height() -> None:
    rows = [reading("sill_height", 1.0, "sill", station=station) for station in ("left", "Centre", "25%", "right")]
    assert [at for at, _ in read(*rows).line("sill_height")] == [0.0, 1000.0, 2000.0, 4000.0]
    jamb = [reading("jamb_edge", 1.0, "left_jamb", station=station) for station in ("top", "bottom", "middle")]
    assert [at for at, _ in read(*jamb).line("jamb_edge", "left_jamb")] == [0.0, 1050.0, 2100.0]
    assert read_of(rows, None, None).line("sill_height") == ()


def test_a_lean_against_a_plumb_line_implies_a_zero_at_its_foot() -> None:
    lean = reading("jamb_edge", 3.0, "left_jamb", position_mm=2000.0, written_value=1.5, written_unit="mm/m")
    line = fitted_line(read(lean).line("jamb_edge", "left_jamb"))
    assert line is not None
    assert line.rise == pytest.approx(3.0)


def test_fixings_without_numbers_are_the_places_they_are_at() -> None:
    rows = [reading("fixing", at, "head", read_on=on) for at, on in ((200.0, EARLY), (800.0, EARLY), (800.0, LATE))]
    assert sorted(spot.value for spot in read(*rows).of("fixing", "head")) == [200.0, 800.0]


def test_a_diagonal_of_the_frame_is_found_whether_its_row_names_a_member_or_not() -> None:
    rows = [
        reading("frame_diagonal", 4521.0, "frame", station="rising"),
        reading("frame_diagonal", 4515.0, station="falling"),
    ]
    assert [read(*rows).at("frame_diagonal", None, side) for side in ("rising", "falling")] == [4521.0, 4515.0]


def test_of_readings_that_name_no_place_the_latest_day_counts_whole() -> None:
    rows = [reading("frame_width", value, read_on=on) for value, on in ((1.0, EARLY), (2.0, LATE), (4.0, LATE))]
    assert sorted(spot.value for spot in read(*rows).of("frame_width")) == [2.0, 4.0]
