"""A unit as the last word of a heading: read, or left to a person where it may be the word in; never taken as mm."""

import pytest

from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.matching.words.meaning import reading_meaning
from tests.ingest.matching.test_match import add_doors, matched, write_sheets

LEVELS, GAPS, IN_MM = [0.06, -0.1, 0.12], [0.12, 0.2, 0.26], [1.5, -3.0, 2.0]


def taken(firm, heads, cells):
    """By measure the values of a sheet that is matched and taken in, every heading over the same cells."""
    doors = [f"U{n}" for n in range(len(cells))]
    add_doors(firm, doors)
    rows = [[door, *[cell] * len(heads)] for door, cell in zip(doors, cells, strict=True)]
    write_sheets(firm.folder / "r.xlsx", {"R": [["Door", *heads], *rows]})
    matched(firm, "r.xlsx")
    firm.take_in()
    return firm.ask("SELECT round(value, 3) FROM readings ORDER BY install_id, station")


@pytest.mark.parametrize(
    ("heading", "cells", "factor"),
    [
        ("sill_level_right_in", LEVELS, 25.4),
        ("Sill level right in", LEVELS, 25.4),
        ('Sill level right "', LEVELS, 25.4),
        ("Sill level right (″)", LEVELS, 25.4),
        ("sill_level_right_inch", LEVELS, 25.4),
        ("Sill level, inches, right", LEVELS, 25.4),
        ("SillLevelRightIn", LEVELS, 25.4),
        ("head_gap_leaf1_hinge_in", GAPS, 25.4),
        ("threshold_gap_leaf1_lock_in", GAPS, 25.4),
        ("Sill level cm right", LEVELS, 10.0),
        ("sill level right ft", [0.005, 0.01, 0.0], 304.8),
    ],
)
def test_the_last_word_of_a_heading_is_its_unit(empty_firm, heading, cells, factor):
    assert taken(empty_firm, [heading], cells) == [(round(cell * factor, 3),) for cell in cells]


@pytest.mark.parametrize(
    ("heads", "cells"),
    [
        (["Sill level in"], LEVELS),
        (["Left jamb face plumb top in"], LEVELS),
        (["Sill level right in"], IN_MM),
        (["Leaf 1 head gap hinge in"], [4.5, 5.0, 3.5]),
        # whole and half numbers may as well be mm of the inner edge
        (["Sill level right in"], [1, 0, 1]),
        (["Sill level right in"], [3, 3, 3]),
        (["Sill level right in"], [0.5, 1.0, 0.0]),
        (["Sill level, in / Right"], [1, 0, 2]),
        (["Sill level right mm / in"], LEVELS),
        (["Sill level 5 cm right"], LEVELS),
    ],
)
def test_what_may_be_inches_or_a_word_is_left_to_a_person(empty_firm, heads, cells):
    assert taken(empty_firm, heads, cells) == []


def test_in_beside_out_is_a_way(empty_firm):
    doors = ["U0", "U1"]
    add_doors(empty_firm, doors)
    rows = [[door, 0.06, 0.1] for door in doors]
    heads = ["Door", "Sill level right in", "Sill level right out"]
    write_sheets(empty_firm.folder / "r.xlsx", {"R": [heads, *rows]})
    matched(empty_firm, "r.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM readings WHERE measure = 'sill_height'") == [(0,)]


def test_columns_that_surely_are_in_inches_speak_for_one_that_may_say_in(empty_firm):
    heads = ["leaf1_head_gap_hinge_in", "leaf1_head_gap_lock_in", "left_jamb_face_top_in"]
    assert taken(empty_firm, heads, GAPS) == [(round(cell * 25.4, 3),) for cell in GAPS for _ in heads]


def test_an_item_in_a_list_says_its_unit_as_a_heading_does(empty_firm):
    add_doors(empty_firm, ["U0", "U1", "U2", "U3"])
    items = ["Sill level left in", "Sill level centre in", "Sill level right in", "Head gap leaf 1 hinge (in)"]
    rows = [[f"U{n}", item, 0.0 if "left" in item else 0.125] for n in range(4) for item in items]
    write_sheets(empty_firm.folder / "r.xlsx", {"R": [["Door", "Item", "Value"], *rows]})
    matched(empty_firm, "r.xlsx")
    empty_firm.take_in()
    found = empty_firm.ask("SELECT DISTINCT measure, round(value, 3) FROM readings ORDER BY ALL")
    assert found == [("head_gap", 3.175), ("sill_height", 0.0), ("sill_height", 3.175)]


def test_marks_that_quote_are_no_inches():
    assert split_unit('Sill "level"') == ('Sill "level"', None)
    assert split_unit('Sill at 12"')[1] is None
    meaning = reading_meaning('Sill at 12"')
    assert meaning is not None
    assert (meaning.unit, meaning.place.position_mm) == (None, "304.8")


def test_zeros_are_as_open_as_what_stands_beside_them(empty_firm):
    """The left end is the datum, so that its zeros say nothing of the unit."""
    add_doors(empty_firm, ["U0", "U1", "U2"])
    heads = ["Door", "Sill level left in", "Sill level right in"]
    write_sheets(empty_firm.folder / "r.xlsx", {"R": [heads, *([f"U{n}", 0, n] for n in range(3))]})
    matched(empty_firm, "r.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM readings") == [(0,)]


@pytest.mark.parametrize("heading", ["in_out_left_jamb_top", "in_plane_left_jamb_top"])
def test_in_before_out_or_a_plane_is_no_unit(empty_firm, heading):
    assert taken(empty_firm, [heading], IN_MM) == [(cell,) for cell in IN_MM]
