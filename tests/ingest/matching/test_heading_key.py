"""Headings in letters that the sheet explains, and numbers of a paper form's boxes before them."""

import pytest

from pipeline.ingest.matching.readings.heading_key import key_of
from tests.ingest.matching.test_mapped_sheets import write_sheet
from tests.ingest.matching.test_match import day, matched, write_sheets

LEAVES = (1, 2)
CORNERS = ("TH", "TL", "BH", "BL")
KEY = "Gaps in mm. T = gap at top (head), B = gap at bottom (sill), H = hinge side, L = lock side."


def write(firm, title, numbered=True):
    """A register of doors with the gaps of two leaves, box numbers before the headings."""
    names = ["Door ref", "Team", "Date fitted", "Width", *(f"Panel {n} {code}" for n in LEAVES for code in CORNERS)]
    heads = [f"{box} {name}" for box, name in enumerate(names, start=1)] if numbered else names
    rows = [["D1", "Alder", day(1), 4200, 3, 4, 5, 6, 3.5, 4.5, 5.5, 6.5], ["D2", "Birch", day(2), 4300, *[4] * 8]]
    write_sheet(firm.folder / "site.xlsx", [[title], heads, *rows])
    return matched(firm, "site.xlsx")


@pytest.mark.parametrize("numbered", [True, False])
def test_letters_mean_what_the_key_says_and_box_numbers_are_no_leaves(empty_firm, numbered):
    write(empty_firm, KEY, numbered)
    empty_firm.take_in()
    found = empty_firm.ask("SELECT measure, member, station, value FROM readings WHERE install_id = 'D1' ORDER BY 4")
    assert found == [
        ("head_gap", "leaf_1", "hinge", 3.0), ("head_gap", "leaf_2", "hinge", 3.5),
        ("head_gap", "leaf_1", "lock", 4.0), ("head_gap", "leaf_2", "lock", 4.5),
        ("threshold_gap", "leaf_1", "hinge", 5.0), ("threshold_gap", "leaf_2", "hinge", 5.5),
        ("threshold_gap", "leaf_1", "lock", 6.0), ("threshold_gap", "leaf_2", "lock", 6.5),
    ]  # fmt: skip
    assert empty_firm.ask("SELECT install_id, width_mm FROM installs ORDER BY 1") == [("D1", 4200), ("D2", 4300)]


def test_letters_that_nothing_explains_are_left_to_a_person(empty_firm):
    one = write(empty_firm, "Gaps in mm")
    assert [record for proposal in one.proposals for record in proposal.columns] == ["installs"]


def test_a_number_that_alone_tells_headings_apart_is_no_box(empty_firm):
    heads = ["Door ref", "Team", "Date fitted", *(f"{leaf} leaf head gap hinge" for leaf in range(1, 6))]
    write_sheet(empty_firm.folder / "site.xlsx", [heads, ["D1", "Alder", day(1), 3, 4, 5, 6, 7]])
    matched(empty_firm, "site.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT member, value FROM readings ORDER BY 1") == [
        (f"leaf_{leaf}", leaf + 2.0) for leaf in range(1, 6)
    ]


def test_a_box_that_could_not_be_read_is_no_reading(empty_firm):
    heads = ["Door ref", "Team", "Date fitted", "Leaf 1 head gap hinge"]
    rows = [["D1", "Alder", day(1), 3], ["D2", "Alder", day(2), "?"], ["D3", "Alder", day(3), 4]]
    write_sheet(empty_firm.folder / "site.xlsx", [heads, *rows])
    matched(empty_firm, "site.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id FROM readings ORDER BY 1") == [("D1",), ("D3",)]
    assert empty_firm.set_aside() == []


def test_one_beside_quarters_is_the_end_of_the_length(empty_firm):
    upper = ["Door ref", "Team", "Date fitted", "Width", "Sill level", None, None, None, None]
    lower = [None, None, None, None, "0", "1/4", "1/2", "3/4", "1"]
    rows = [["D1", "Alder", day(1), 4000, 1, 2, 3, 4, 5], ["D2", "Birch", day(2), 4200, 1, 2, 3, 4, 5]]
    write_sheets(empty_firm.folder / "site.xlsx", {"QA": [upper, lower, *rows]}, [("QA", "E1:I1")])
    matched(empty_firm, "site.xlsx")
    empty_firm.take_in()
    found = empty_firm.ask("SELECT position_mm, value FROM readings WHERE install_id = 'D1' ORDER BY 2")
    assert found == [(0, 1), (1000, 2), (2000, 3), (3000, 4), (4000, 5)]


def test_a_title_that_says_inches_says_it_of_numbers_that_only_custom_makes_mm(empty_firm):
    heads = ["Door ref", "Team", "Date fitted", "Sill level (+ = high) left", "Sill level (+ = high) right"]
    rows = [["D1", "Alder", day(1), 0.0625, -0.125], ["D2", "Birch", day(2), 0, 0.25]]
    write_sheet(empty_firm.folder / "site.xlsx", [["Folding door QC - all dimensions in inches"], heads, *rows])
    matched(empty_firm, "site.xlsx")
    empty_firm.take_in()
    found = empty_firm.ask("SELECT value FROM readings WHERE install_id = 'D1' ORDER BY 1")
    assert found == [(-3.175,), (1.5875,)]


def test_a_key_that_says_two_things_of_a_letter_says_none():
    assert key_of(["T = top, B = bottom", "T = taken"]) == {"B": "bottom"}
