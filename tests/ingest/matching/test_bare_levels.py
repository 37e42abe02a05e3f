"""Levels headed without their member: taken for the sill's where the sheet or a neighbour says so, else left.

All invented; how such sheets look is common practice, no source.
"""

import pytest

from tests.ingest.matching.test_match import day, matched, write_sheets


def register(before, behind, *, is_merged):
    level = ["Level", None, None] if is_merged else ["Level"] * 3
    heads = ["Plot", "Gang", "Installed", "Leaves", before, *level, behind]
    rows = [[f"P{n}", "Elm", day(n), 3, "Y", 0, n / 2, n, 4000 + n] for n in range(1, 6)]
    return [heads, [None] * 5 + ["L", "C", "R"], *rows]


def levels(firm, rows, *, title="", is_merged=False):
    top = [[title], []] if title else []
    areas = [("Plots", f"F{len(top) + 1}:H{len(top) + 1}")] if is_merged else []
    write_sheets(firm.folder / "plots.xlsx", {"Plots": [*top, *rows]}, areas)
    matched(firm, "plots.xlsx")
    firm.take_in()
    assert firm.account("installs") == (5, 5, 0, 0)
    assert firm.ask("SELECT DISTINCT storey FROM installs") == [(None,)]
    found = "SELECT station, value FROM readings WHERE measure = 'sill_height' AND install_id = 'P4' ORDER BY value"
    return firm.ask(found)


@pytest.mark.parametrize("is_merged", [True, False])
def test_levels_beside_the_sill_are_the_sills(empty_firm, is_merged):
    rows = register("Sill bedded", "Frame width", is_merged=is_merged)
    assert levels(empty_firm, rows, is_merged=is_merged) == [("left", 0), ("centre", 2), ("right", 4)]


def test_levels_under_a_title_of_thresholds_are_the_sills(empty_firm):
    rows = register("Packers both sides", "Frame width", is_merged=True)
    found = levels(empty_firm, rows, title="Threshold survey", is_merged=True)
    assert found == [("left", 0), ("centre", 2), ("right", 4)]


@pytest.mark.parametrize("title", ["", "Sill and head levels"])
def test_levels_that_nothing_gives_to_the_sill_are_left(empty_firm, title):
    rows = register("Packers both sides", "Head clearance" if not title else "Frame width", is_merged=False)
    assert levels(empty_firm, rows, title=title) == []
