"""Places of fixings listed in one cell, all invented. How firms write so is common practice, no source."""

import pytest

from pipeline.ingest.matching.sheet.several_numbers import listed_in, part_of_list
from pipeline.ingest.matching.words.meaning import SURE, reading_meaning
from tests.ingest.matching.test_match import day, matched, write_sheets

HEADS = ["Job", "Crew", "Fitted", "Width mm", "Fixings LH jamb", "Packers RH jamb (mm up)"]
READINGS = "SELECT install_id, measure, member, station, value FROM readings ORDER BY ALL"


def door(number, fixings, packers):
    return [f"G-{number}", "Elm", day(number), 3000, fixings, packers]


@pytest.mark.parametrize(
    ("cell", "numbers"),
    [
        ("200, 750, 1300", ("200", "750", "1300")),
        ("200; 750", ("200", "750")),
        ("150 / 700 / 1250 / 1800", ("150", "700", "1250", "1800")),
        ("200", ("200",)),
        ("see photo", None),
    ],
)
def test_the_numbers_that_a_cell_lists(cell, numbers):
    assert listed_in(cell, 6) == numbers


def test_a_part_beyond_a_list_is_nothing_and_a_text_that_is_no_list_stays_whole():
    assert (part_of_list("200, 750", 3, 6), part_of_list("see photo", 3, 6)) == ("", "see photo")


def test_every_place_of_a_list_is_a_reading_however_many_a_door_has(empty_firm):
    rows = [HEADS, door(1, "200, 750, 1300", "210, 740"), door(2, "190, 1250", ""), door(3, "", "220, 760, 1310")]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask(READINGS) == [
        ("G-1", "fixing", "left_jamb", "1", 200.0),
        ("G-1", "fixing", "left_jamb", "2", 750.0),
        ("G-1", "fixing", "left_jamb", "3", 1300.0),
        ("G-1", "packer", "right_jamb", "1", 210.0),
        ("G-1", "packer", "right_jamb", "2", 740.0),
        ("G-2", "fixing", "left_jamb", "1", 190.0),
        ("G-2", "fixing", "left_jamb", "2", 1250.0),
        ("G-3", "packer", "right_jamb", "1", 220.0),
        ("G-3", "packer", "right_jamb", "2", 760.0),
        ("G-3", "packer", "right_jamb", "3", 1310.0),
    ]


def test_a_longer_list_than_the_mapping_knows_is_set_aside(empty_firm):
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [HEADS, door(1, "200, 750", ""), door(2, "190, 800", "")]})
    matched(empty_firm, "doors.xlsx")
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [HEADS, door(1, "200, 750, 1300", "")]})
    empty_firm.take_in()
    assert empty_firm.ask(READINGS) == []
    assert {value for (value,) in empty_firm.ask("SELECT value FROM rejections")} == {"200, 750, 1300"}


@pytest.mark.parametrize(
    ("heading", "member"),
    [
        ("Fixings (mm up from the bottom, or from the left) / Right jamb / 1", "right_jamb"),
        ("Fixings, from the left / Head / 1", "head"),
        ("Packers up from bottom / Left jamb / 1", "left_jamb"),
    ],
)
def test_where_fixings_are_counted_from_is_no_member(heading, member):
    found = reading_meaning(heading)
    assert found is not None
    assert found.sure >= SURE
    assert (found.place.member, found.place.station) == (member, "1")


def test_fixings_counted_from_the_other_end_stay_in_doubt():
    found = reading_meaning("Fixings from the right / Head / 1")
    assert found is None or found.sure < SURE


def test_a_line_that_says_how_many_doors_a_month_had_is_passed_over(empty_firm):
    sums = ["January total", "2 doors", None, None, None, None]
    rows = [HEADS, door(1, "200, 750", ""), door(2, "190, 800", ""), sums, door(3, "210, 790", "")]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id FROM installs ORDER BY 1") == [("G-1",), ("G-2",), ("G-3",)]
    assert empty_firm.ask("SELECT count(*) FROM rejections") == [(0,)]
