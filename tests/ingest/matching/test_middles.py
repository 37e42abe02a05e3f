"""A bare M at the end of headings: the middle between an L and an R, or metres of a length.

All invented; how such sheets look is common practice, no source.
"""

import pytest

from tests.ingest.matching.test_match import day, matched, write_sheets

DOOR = ["Door no", "Crew", "Fitted", "Leaves"]


def register(firm, headings, values):
    rows = [[f"P{n}", "Elm", day(n), 3, *(one + n / 2 for one in values)] for n in range(1, 6)]
    write_sheets(firm.folder / "plots.xlsx", {"Plots": [[*DOOR, *headings], *rows]})
    matched(firm, "plots.xlsx")
    firm.take_in()
    assert firm.account("installs") == (5, 5, 0, 0)


@pytest.mark.parametrize(
    ("headings", "measure", "stations"),
    [
        (["Sill height L", "Sill height M", "Sill height R"], "sill_height", ["left", "centre", "right"]),
        (["Sill height - l", "Sill height - m", "Sill height - r"], "sill_height", ["left", "centre", "right"]),
        (["Cill level (L)", "Cill level (M)", "Cill level (R)"], "sill_height", ["left", "centre", "right"]),
        (["Clear height left", "Clear height M", "Clear height right"], "clear_height", ["left", "centre", "right"]),
        (["Frame width T", "Frame width M", "Frame width B"], "frame_width", ["top", "centre", "bottom"]),
        (["Sill height L mm", "Sill height M mm", "Sill height R mm"], "sill_height", ["left", "centre", "right"]),
    ],
)
def test_an_m_between_two_ends_is_the_middle(empty_firm, headings, measure, stations):
    values = [20, 30, 40] if measure == "sill_height" else [2000, 2010, 2020]
    register(empty_firm, headings, values)
    asked = f"SELECT station, value FROM readings WHERE measure = '{measure}' AND install_id = 'P4' ORDER BY value"
    assert empty_firm.ask(asked) == [(where, one + 2) for where, one in zip(stations, values, strict=True)]


def test_a_capital_m_alone_is_the_middle_where_no_sill_is_so_many_metres_high(empty_firm):
    register(empty_firm, ["Sill height M"], [20])
    asked = "SELECT station, value FROM readings WHERE measure = 'sill_height' AND install_id = 'P4'"
    assert empty_firm.ask(asked) == [("centre", 22)]


def test_an_m_behind_a_length_that_has_no_ends_beside_it_is_metres(empty_firm):
    register(empty_firm, ["Overall width M", "Overall height m"], [2.5, 0.5])
    assert empty_firm.ask("SELECT width_mm, height_mm FROM installs WHERE install_id = 'P2'") == [(3500, 1500)]
