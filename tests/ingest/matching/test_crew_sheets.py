"""Workbooks with a sheet for each crew, and those whose sheets bear the names of something else.

All invented; how crews keep their sheets is common practice, no source.
"""

import pytest

from pipeline.ingest.matching.forms.form_or_list import is_list
from pipeline.ingest.matching.sheet.grid import Grid
from tests.ingest.matching.test_match import day, matched, write_sheets

HEADS = ["Order", "Customer", "Fitted", "Signed off", "W mm", "H mm", "Panels"]
OTHER_HEADS = ["job ref", "client name", "date put in", "handed over", "width", "height", "no. of leaves"]


def door(number):
    return [f"M-{number}", f"A. Nobody{number}", day(number), day(number + 2), 2400 + 10 * number, 2100, 3]


def crews_after(firm, sheets, name="doors.xlsx"):
    """The crew of every door that came in; none where no door did."""
    write_sheets(firm.folder / name, sheets)
    matched(firm, name)
    firm.write("installs.csv", "install_id,crew,fitted_on\nX-1,Alder,2025-01-10\n")
    firm.take_in()
    return dict(firm.ask("SELECT install_id, crew FROM installs WHERE install_id <> 'X-1'"))


def test_sheets_in_words_of_their_own_are_each_the_crews_that_they_are_named_after(empty_firm):
    first = [["Pim and Sefa - doors 2025"], [], HEADS, door(1), door(2)]
    other = [["LUDO 2025"], OTHER_HEADS, door(3), door(4)]
    assert crews_after(empty_firm, {"Pim & Sefa": first, "Ludo": other}) == {
        "M-1": "Pim & Sefa",
        "M-2": "Pim & Sefa",
        "M-3": "Ludo",
        "M-4": "Ludo",
    }


@pytest.mark.parametrize(
    ("names", "title"),
    [
        (("Trade", "Retail"), ""),
        (("Oak", "Aluminium"), ""),
        (("February", "March"), ""),
        (("Hazel Rise", "Orchard Park"), ""),
        (("Foldline", "Slimline"), "Doors by product"),
        (("Hazel", "Orchard"), "Site list"),
    ],
)
def test_sheets_named_after_something_else_are_no_crews(empty_firm, names, title):
    one, other = names
    sheets = {one: [[title], HEADS, door(1), door(2)], other: [[title], HEADS, door(3), door(4)]}
    assert crews_after(empty_firm, sheets) == {}


def test_a_name_that_stands_in_a_column_of_something_else_is_no_crew(empty_firm):
    heads = [*HEADS, "Product"]
    sheets = {
        name: [heads, [*door(number), name], [*door(number + 1), name]]
        for number, name in ((1, "Vista"), (5, "Contour"))
    }
    assert crews_after(empty_firm, sheets) == {}


def test_sheets_that_list_the_same_doors_are_stages_and_no_crews(empty_firm):
    sheets = {"Sefa": [HEADS, door(1), door(2)], "Ludo": [OTHER_HEADS, door(2), door(1)]}
    assert crews_after(empty_firm, sheets) == {}


def test_sheets_that_differ_in_what_they_list_and_not_in_words_are_no_crews(empty_firm):
    """One hand wrote both: what their names are is not said."""
    more = [[*HEADS, "Glass mm"], [*door(3), 28], [*door(4), 28]]
    assert crews_after(empty_firm, {"Vista": [HEADS, door(1), door(2)], "Contour": more}) == {}


@pytest.mark.parametrize("label", ["JOB REF", "Job no", "Door ref"])
def test_what_numbers_doors_or_their_jobs_over_several_names_makes_a_list(label):
    rows = [["DARA / FENN", None], [label, "NAME"], ["6012", "T. Lanfield"], ["6013", "N. Orrick"]]
    assert is_list(Grid("sheet", rows, "1900"))
    assert not is_list(Grid("sheet", [[label, "6012", "NAME"], ["CREW", "Alder", "HEIGHT"]], "1900"))


def test_a_crews_name_may_begin_as_a_month_does_and_other_sheets_stand_beside(empty_firm):
    """Sheets of months are none of crews all the same: see the names above."""
    calls = [["Date in", "Order", "Issue"], [day(40), "M-1", "Draught at the lock side"]]
    sheets = {"Crew 1 - Janet": [HEADS, door(1), door(2)], "Crew 2 - Maren": [HEADS, door(3)], "Service": calls}
    assert set(crews_after(empty_firm, sheets).values()) == {"Crew 1 - Janet", "Crew 2 - Maren"}
