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


@pytest.mark.parametrize("way", ["Clear opening height {}", "CLEAR OPENING HT {}", "Clear opening / Height / {}"])
@pytest.mark.parametrize(("value", "n_read"), [(2040, 3), (2150, 0)])
def test_heights_of_a_clear_opening_are_clear_heights_where_they_are_below_the_doors(empty_firm, way, value, n_read):
    """Larger than the door it is the opening in the wall."""
    found = register(empty_firm, [way.format(place) for place in ("Left", "Center", "Right")], [value] * 3)
    places = [("clear_height", "head", place, value + 4.0) for place in ("centre", "left", "right")]
    assert sorted(found) == places[:n_read]


def test_heights_of_a_clear_opening_in_inches_and_fractions(empty_firm):
    heads = ["Door no", "Crew", "Fitted", "Width", "Height", "Clear opening height left", "Sill level left"]
    rows = [[f"P{n}", "Elm", day(n), '118 1/2"', '82 1/4"', f'79 {n}/8"', '1/16"'] for n in (1, 3, 5)]
    write_sheets(empty_firm.folder / "plots.xlsx", {"Plots": [heads, *rows]})
    matched(empty_firm, "plots.xlsx")
    empty_firm.take_in()
    eighths = "SELECT round(value / 25.4 * 8, 6) FROM readings WHERE measure = 'clear_height' ORDER BY value"
    assert empty_firm.ask(eighths) == [(79 * 8 + n,) for n in (1, 3, 5)]
