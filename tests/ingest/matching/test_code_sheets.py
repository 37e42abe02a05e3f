"""Short codes of headings that a sheet of their own explains, all invented.

How keys look is common practice, no source.
"""

import pytest

from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.words.vocabulary import one_meaning
from pipeline.ingest.matching.workbooks.code_sheets import codes_in
from tests.ingest.matching.test_match import day, matched, write_sheets

KEY = [
    ["Code", "Meaning"],
    ["SL-L, SL-R", "Sill level left, right, mm, + is low"],
    ["FD-1", "Frame diagonal bottom left to top right, mm"],
    ["FD-2", "Frame diagonal top left to bottom right, mm"],
    ["SG-H, SG-L", "Gap at the sill (threshold), hinge side, lock side, mm"],
]
HEADS = ["Job", "Gang", "Installed", "SL-L", "SL-R", "FD-1", "FD-2", "P1 SG-H", "P1 SG-L"]


def doors():
    return [HEADS, *([f"Q{number}", "Red", day(number), 1, 2, 3660, 3661, 4, 5] for number in (1, 2, 3))]


def pairs(rows, name="Key"):
    return codes_in(Grid(name, [list(row) for row in rows], "1900"))


def test_codes_are_read_as_the_key_says(empty_firm):
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": doors(), "Key": KEY})
    assert ("Key", "it says what codes in headings mean") in matched(empty_firm, "doors.xlsx").unread
    empty_firm.take_in()
    asked = "SELECT measure, member, station, value FROM readings WHERE install_id = 'Q1' ORDER BY ALL"
    assert empty_firm.ask(asked) == [
        ("frame_diagonal", None, "falling", 3661),
        ("frame_diagonal", None, "rising", 3660),
        ("sill_height", "sill", "left", -1),
        ("sill_height", "sill", "right", -2),
        ("threshold_gap", "leaf_1", "hinge", 4),
        ("threshold_gap", "leaf_1", "lock", 5),
    ]


def test_codes_that_nothing_explains_are_left_to_a_person(empty_firm):
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": doors()})
    (proposal,) = matched(empty_firm, "doors.xlsx").proposals
    assert {"SL-L", "FD-1"} <= set(proposal.others)


@pytest.mark.parametrize(
    ("rows", "name", "expected"),
    [
        ([["HG", "Head gap"]], "Codes", [("HG", "Head gap")]),
        ([["HG = head gap, mm"], ["W: width of frame"]], "Key", [("HG", "head gap (mm)"), ("W", "width of frame")]),
        ([["HG", "Head gap"], ["Customer", "A. Nobody"], ["Width", "3000"]], "Key", [("HG", "Head gap")]),
        ([["Code", "Meaning"], ["HG", "Head gap"]], "Doors", [("HG", "Head gap")]),
        ([["Crew", "Name"], ["A", "Alder and Birch"]], "Crews", []),
        ([["HG-H, HG-L", "Head gap"]], "Key", []),
    ],
)
def test_a_key_is_read_only_where_it_says_that_it_is_one(rows, name, expected):
    assert pairs(rows, name) == expected


def test_a_code_that_is_explained_in_two_ways_means_nothing():
    assert one_meaning([("HG", "Head gap"), ("HG", "Hinge gap"), ("SL", "Sill level")]) == (("SL", "Sill level"),)
