"""Columns headed Head height, L, C and R.

All invented; how such sheets look is common practice, no source.
"""

import pytest

from tests.ingest.matching.test_match import day, matched, write_sheets

DOOR = ["Door no", "Crew", "Fitted", "Leaves", "Width mm", "Height mm"]


def register(firm, headings, values):
    rows = [[f"P{n}", "Elm", day(n), 3, 2400, 2110, *(one + n for one in values)] for n in range(1, 6)]
    write_sheets(firm.folder / "plots.xlsx", {"Plots": [[*DOOR, *headings], *rows]})
    matched(firm, "plots.xlsx")
    firm.take_in()
    assert firm.account("installs") == (5, 5, 0, 0)
    return firm.ask("SELECT measure, member, station, value FROM readings WHERE install_id = 'P4' ORDER BY value")


@pytest.mark.parametrize(
    "headings",
    [
        ["Head height L", "Head height C", "Head height R"],
        ["head ht left", "head ht mid", "head ht right"],
        ["Height to head (L)", "Height to head (M)", "Height to head (R)"],
        ["Head height L mm", "Head height C mm", "Head height R mm"],
    ],
)
def test_heights_of_the_head_near_the_doors_are_clear_heights(empty_firm, headings):
    found = register(empty_firm, headings, [2040, 2042, 2045])
    places = [("left", 2044.0), ("centre", 2046.0), ("right", 2049.0)]
    assert found == [("clear_height", "head", station, value) for station, value in places]


def test_heights_of_the_head_over_some_line_are_left_to_a_person(empty_firm):
    assert register(empty_firm, ["Head height L", "Head height C", "Head height R"], [1040, 1042, 1045]) == []


def test_beside_heights_of_the_sill_they_may_be_over_the_same_datum(empty_firm):
    sills = ["Sill height L", "Sill height C", "Sill height R"]
    found = register(
        empty_firm, ["Head height L", "Head height C", "Head height R", *sills], [2060, 2062, 2065, 20, 21, 22]
    )
    assert {measure for measure, *_ in found} == {"sill_height"}
