"""Levels told by the end that is low, all invented. How firms write so is common practice, no source."""

import pytest

from pipeline.errors import UserError
from pipeline.ingest.declared.mapping_tables import parse_mapping
from pipeline.ingest.matching.sheet.low_ends import height_at, low_end
from tests.ingest.matching.test_match import day, matched, write_sheets

HEADS = ["Job", "Crew", "Fitted", "Width mm", "Height mm", "Sill level"]
READINGS = "SELECT install_id, station, position_mm, value FROM readings WHERE value IS NOT NULL ORDER BY ALL"


def book(firm, cells, title="Doors fitted", heads=HEADS):
    rows = [[title], [], heads]
    rows += [[f"G-{n}", "Elm", day(n), 3000, 2100, cell] for n, cell in enumerate(cells, start=1)]
    write_sheets(firm.folder / "doors.xlsx", {"Doors": rows})
    return matched(firm, "doors.xlsx")


@pytest.mark.parametrize(
    ("cell", "end"),
    [("3 L", "left"), ("2mm RH", "right"), ("left 4 low", "left"), ("R 1.5", "right"), ("3", None), ("+3 L", None)],
)
def test_the_end_that_a_cell_names_as_low(cell, end):
    assert low_end(cell) == end


@pytest.mark.parametrize(
    ("cell", "left", "right"),
    [
        ("3 L", "-3", "0"),
        ("1.5mm R", "0 mm", "-1.5 mm"),
        ("0", "0", "0"),
        ("ok", "ok", "ok"),
        ("2", "2 which end", "2 which end"),
    ],
)
def test_what_a_cell_says_of_both_ends(cell, left, right):
    assert (height_at(cell, "left"), height_at(cell, "right")) == (left, right)


def test_the_low_end_is_below_and_the_other_at_zero(empty_firm):
    book(empty_firm, ["3 L", "2 R", "ok", "1 L", "0", ""])
    empty_firm.take_in()
    assert empty_firm.ask(READINGS) == [
        ("G-1", "left", 0.0, -3.0),
        ("G-1", "right", 3000.0, 0.0),
        ("G-2", "left", 0.0, 0.0),
        ("G-2", "right", 3000.0, -2.0),
        ("G-4", "left", 0.0, -1.0),
        ("G-4", "right", 3000.0, 0.0),
        ("G-5", "left", 0.0, 0.0),
        ("G-5", "right", 3000.0, 0.0),
    ]
    assert empty_firm.ask("SELECT count(*) FROM rejections") == [(0,)]


def test_what_was_written_stays_beside_what_was_made_of_it(empty_firm):
    book(empty_firm, ["3 L", "2 R", "ok", "1 L", "0", ""])
    empty_firm.take_in()
    rows = empty_firm.ask(
        "SELECT station, value, json_extract_string(raw, 'value'), json_extract_string(raw, 'value rule') "
        "FROM readings_history WHERE install_id IN ('G-1', 'G-5') ORDER BY install_id, station"
    )
    by_mapping = "as the mapping in fitback.toml says"
    assert rows[:2] == [("left", -3.0, "3 L", by_mapping), ("right", 0.0, "3 L", by_mapping)]
    assert rows[2:] == [("left", 0.0, None, None), ("right", 0.0, None, None)]


def test_a_number_that_names_no_end_is_set_aside_not_taken_for_both(empty_firm):
    book(empty_firm, ["3 L", "2 R", "1 L"])
    write = [["Doors fitted"], [], HEADS, ["G-9", "Elm", day(9), 3000, 2100, 4]]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": write})
    empty_firm.take_in()
    assert empty_firm.ask(READINGS) == []
    assert {value for (value,) in empty_firm.ask("SELECT value FROM rejections")} == {"4 which end"}


@pytest.mark.parametrize("title", ["Sill: mm and the end that is high", "L = left to be packed up"])
def test_a_note_that_speaks_of_another_end_leaves_it_to_a_person(empty_firm, title):
    book(empty_firm, ["3 L", "2 R", "1 L"], title=title)
    empty_firm.take_in()
    assert empty_firm.ask(READINGS) == []


def test_the_mapping_says_both_ends_or_is_refused():
    each = [{"column": "Sill", "measure": "sill_height", "unit": "mm", "low": "middle", "part": 1}]
    table = {"file": "a.xlsx", "readings": {"install_id": "Job", "each": each}}
    with pytest.raises(UserError, match="low = must be"):
        parse_mapping([table])


@pytest.mark.parametrize("heading", ["Sill out of level (low end)", "Sill level - which end is low", "Level, low side"])
def test_a_heading_may_say_that_the_low_end_is_told(empty_firm, heading):
    book(empty_firm, ["3 L", "2 R", "ok", "1 L"], heads=[*HEADS[:-1], heading])
    empty_firm.take_in()
    assert empty_firm.ask(READINGS)[:2] == [("G-1", "left", 0.0, -3.0), ("G-1", "right", 3000.0, 0.0)]


@pytest.mark.parametrize(
    "heading",
    [
        "Cill - how much low & which end (other end = 0)",
        "Cill level (how much low, which end)",
        "Sill: how far down and what side (mm)",
    ],
)
def test_a_heading_may_ask_how_much_is_low_and_which_end(empty_firm, heading):
    book(empty_firm, ["3 low LH", "2 low RH", "ok", "level", "1 low LH"], heads=[*HEADS[:-1], heading])
    empty_firm.take_in()
    assert empty_firm.ask(READINGS) == [
        ("G-1", "left", 0.0, -3.0),
        ("G-1", "right", 3000.0, 0.0),
        ("G-2", "left", 0.0, 0.0),
        ("G-2", "right", 3000.0, -2.0),
        ("G-5", "left", 0.0, -1.0),
        ("G-5", "right", 3000.0, 0.0),
    ]


def test_a_unit_in_such_a_heading_is_kept(empty_firm):
    heading = "Cill (cm): how much low, which end"
    book(empty_firm, ["0.3 low LH", "0.2 low RH"], heads=[*HEADS[:-1], heading])
    empty_firm.take_in()
    assert empty_firm.ask(READINGS)[0] == ("G-1", "left", 0.0, -3.0)


def test_how_much_the_head_is_low_is_no_level_of_the_sill(empty_firm):
    book(empty_firm, ["3 low LH", "2 low RH", "1 low LH"], heads=[*HEADS[:-1], "Head - how much low & which end"])
    empty_firm.take_in()
    assert empty_firm.ask(READINGS) == []
