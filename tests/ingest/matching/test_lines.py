"""Lines of text between the rows of a list that hold for the rows under them: a crew, a door, the kind of work.

All invented; how such lists look is common practice, no source.
"""

import pytest

from pipeline.errors import UserError
from pipeline.ingest.declared.mapping_tables import parse_mapping
from tests.ingest.matching.test_match import add_doors, day, matched, write_sheets

HEADS = ["Order", "Fitted", "Signed off", "W mm", "H mm", "Panels"]


def door(number):
    return [f"M-{number}", day(number), day(number + 2), 2400 + 10 * number, 2100, 3]


def crews_of(firm):
    return dict(firm.ask("SELECT install_id, crew FROM installs"))


def test_a_kind_of_door_in_front_of_numbers_is_no_line_of_sums(empty_firm):
    """Before, rows that begin with 3 panel and hold nothing else but numbers were passed over as totals."""
    add_doors(empty_firm, ["4021", "4022"])
    mapping = """
[[sheet]]
file = "levels*.csv"
[sheet.readings]
install_id = "Job"
each = [{ column = "Sill L", measure = "sill_height", station = "left", position_mm = 0, unit = "mm" }]
"""
    empty_firm.write("fitback.toml", mapping)
    empty_firm.write("levels.csv", "Type,Job,Sill L\n3 panel,4021,1\n4 panel,4022,2\n2 jobs,,3\n")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id FROM readings ORDER BY 1") == [("4021",), ("4022",)]


def test_a_line_over_the_doors_of_each_crew_that_is_numbered(empty_firm):
    rows = [["Fits this year"], [], HEADS, ["Van 3 (2 doors)"], door(1), door(2), ["Sub total", "2 doors"], []]
    rows += [["Van 11"], door(3), ["M-9"], ["Grand total", "3 doors"]]
    write_sheets(empty_firm.folder / "fits.xlsx", {"Year": rows})
    one = matched(empty_firm, "fits.xlsx")
    assert one.n_placed == 6
    empty_firm.take_in()
    assert crews_of(empty_firm) == {"M-1": "Van 3", "M-2": "Van 3", "M-3": "Van 11"}
    # a number of a door alone in its row is a door without anything else, and no crew
    assert {row[1] for row in empty_firm.set_aside()} == {11}


def test_headings_stand_again_under_the_name_of_each_fitter_and_months_are_no_fitter(empty_firm):
    rows = [["Register by fitter"], [], ["Ludo"], HEADS, ["February"], door(1), door(2), [], ["Pim"], HEADS, door(3)]
    write_sheets(empty_firm.folder / "register.xlsx", {"All": [*rows, ["March 2025"], door(4)]})
    matched(empty_firm, "register.xlsx")
    empty_firm.take_in()
    assert crews_of(empty_firm) == {"M-1": "Ludo", "M-2": "Ludo", "M-3": "Pim", "M-4": "Pim"}


def test_names_that_nothing_says_to_be_crews_are_left_to_a_person(empty_firm):
    rows = [["Doors fitted"], HEADS, ["Hazel Rise"], door(1), door(2), ["Mill End"], door(3)]
    write_sheets(empty_firm.folder / "register.xlsx", {"All": rows})
    one = matched(empty_firm, "register.xlsx")
    assert "crew" in one.unread[0][1]


def test_names_of_crews_are_known_by_the_list_of_crews_beside(empty_firm):
    rows = [["Doors fitted"], HEADS, ["Ludo"], door(1), door(2), ["Pim"], door(3)]
    crews = [["Crew", "Started", "Finished"], ["Ludo", day(0), None], ["Pim", day(0), None], ["Orla", day(0), day(90)]]
    write_sheets(empty_firm.folder / "register.xlsx", {"All": rows, "Crews": crews})
    matched(empty_firm, "register.xlsx")
    empty_firm.take_in()
    assert crews_of(empty_firm) == {"M-1": "Ludo", "M-2": "Ludo", "M-3": "Pim"}


def test_each_door_with_its_labels_over_its_readings(empty_firm):
    """What a line with the next door's number does not say is not known: it is never that of the door above."""
    heads = ["Leaf", "Head gap H", "Head gap L", "Threshold gap H"]
    rows = [["Site readings"]]
    for number, who in ((1, "Ash"), (2, "Elm")):
        rows += [["Door no:", f"M-{number}", "Team: " + who], ["Date fitted:", day(number)], heads]
        rows += [[leaf, 3 + number, 3.5, 4] for leaf in (1, 2)] + [[]]
    rows += [["Door no:", "M-3", "Team: Ash"], heads, [1, 5, 5, 5]]
    write_sheets(empty_firm.folder / "site.xlsx", {"Readings": rows})
    matched(empty_firm, "site.xlsx")
    empty_firm.take_in()
    assert crews_of(empty_firm) == {"M-1": "Ash", "M-2": "Elm"}
    assert empty_firm.ask("SELECT install_id, fitted_on::TEXT FROM installs ORDER BY 1") == [
        ("M-1", "2025-01-07"),
        ("M-2", "2025-01-08"),
    ]
    gaps = "SELECT install_id, member, station, value FROM readings WHERE measure = 'head_gap' AND install_id < 'M-3'"
    assert empty_firm.ask(f"{gaps} ORDER BY ALL") == [
        (f"M-{number}", f"leaf_{leaf}", end, value)
        for number in (1, 2)
        for leaf in (1, 2)
        for end, value in (("hinge", 3.0 + number), ("lock", 3.5))
    ]
    assert empty_firm.account("installs") == (3, 2, 1, 0)


@pytest.mark.parametrize("line", ["Door {}", "{}"])
def test_the_number_of_each_door_over_a_list_of_what_was_read(empty_firm, line):
    add_doors(empty_firm, ["K-17", "K-18"])
    rows = [["What", "Where", "Result", "Unit", "Date"]]
    for number in (17, 18):
        rows += [[line.format(f"K-{number}")], ["Sill level", "left", number / 10, "mm", day(3)]]
        rows += [["Sill level", "right", 1, "mm", day(3)], ["Frame diagonal", "rising", 4000 + number, "mm", day(3)]]
    write_sheets(empty_firm.folder / "book.xlsx", {"Readings": rows})
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, value FROM readings WHERE station = 'left' ORDER BY 1") == [
        ("K-17", 1.7),
        ("K-18", 1.8),
    ]
    assert empty_firm.account("readings") == (6, 6, 0, 0)


def test_the_leaf_over_what_was_read_of_it(empty_firm):
    """Without it the same gap of two leaves came in once, and different ones contradicted one another."""
    add_doors(empty_firm, ["K-17", "K-18"])
    rows = [["Door", "What", "Result", "Unit"]]
    for number in (17, 18):
        for leaf in (1, 2):
            rows += [[None, f"Panel {leaf}"], [f"K-{number}", "Top gap hinge side", 2 + leaf, "mm"]]
            rows.append([f"K-{number}", "Top gap lock side", 4, "mm"])
    write_sheets(empty_firm.folder / "book.xlsx", {"Gaps": rows})
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    assert empty_firm.account("readings") == (8, 8, 0, 0)
    found = "SELECT member, station, value FROM readings WHERE install_id = 'K-18' ORDER BY ALL"
    assert empty_firm.ask(found) == [
        ("leaf_1", "hinge", 3),
        ("leaf_1", "lock", 4),
        ("leaf_2", "hinge", 4),
        ("leaf_2", "lock", 4),
    ]


def test_a_line_may_say_how_many_doors_stand_under_it(empty_firm):
    rows = [["Programme by fitting team"], [], HEADS, ["Ridge", None, None, None, None, "2 doors"], door(1), door(2)]
    rows += [[], ["Vale", None, None, None, None, "1 door"], door(3)]
    write_sheets(empty_firm.folder / "list.xlsx", {"All": rows})
    matched(empty_firm, "list.xlsx")
    empty_firm.take_in()
    assert crews_of(empty_firm) == {"M-1": "Ridge", "M-2": "Ridge", "M-3": "Vale"}


def test_a_label_goes_with_lines_only():
    columns = {"install_id": "Order", "crew": {"above": "Team", "after": "Team"}, "fitted_on": "Fitted"}
    with pytest.raises(UserError, match='after goes with from = "line"'):
        parse_mapping([{"file": "a.csv", "installs": columns}])


def test_headings_merged_downwards_again_are_no_cells_that_go_on(empty_firm):
    """A door without its number is not that of the door above for headings that stand again in merged cells."""
    heads = [["Plot", "Team", "Fitted", "Frame", None], [None, None, None, "Width", "Height"]]
    rows = [[f"P{n}", "Ash", day(n), 3000 + n, 2100] for n in range(1, 11)]
    rows[4][0] = None
    areas = [("A", f"{col}{row}:{col}{row + 1}") for col in "ABC" for row in (1, 6)] + [("A", "D1:E1"), ("A", "D6:E6")]
    write_sheets(empty_firm.folder / "plots.xlsx", {"A": [*heads, *rows[:3], *heads, *rows[3:]]}, areas)
    matched(empty_firm, "plots.xlsx")
    empty_firm.take_in()
    assert "fill_down" not in (empty_firm.folder / "fitback.toml").read_text("utf-8")
    assert empty_firm.account("installs") == (10, 9, 1, 0)


@pytest.mark.parametrize(
    ("lines", "account"),
    [(("Carried forward", "b/f"), (4, 4, 0, 0)), (("to next page", "from last page"), (6, 4, 2, 0))],
)
def test_sums_at_the_turn_of_a_page_are_no_doors(empty_firm, lines, account):
    """Whatever they are called: blanks beside them are not filled from the door above."""
    heads = ["Order", "Gang", "Fitted", "Panels"]
    rows = [[f"M-{number}", "Ridge", day(number), 3] for number in range(1, 5)]
    last, first = ([line, None, None, 6] for line in lines)
    pages = [heads, *rows[:2], last, [], heads, first, *rows[2:]]
    write_sheets(empty_firm.folder / "pages.xlsx", {"All": pages})
    matched(empty_firm, "pages.xlsx")
    empty_firm.take_in()
    assert sorted(crews_of(empty_firm)) == ["M-1", "M-2", "M-3", "M-4"]
    assert empty_firm.account("installs") == account
