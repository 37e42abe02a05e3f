"""Lists of doors with a group of columns for each call back, all invented.

How such lists look is common practice, no source.
"""

import pytest

from pipeline.errors import UserError
from pipeline.ingest.declared.mapping_tables import parse_mapping
from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.test_match import day, matched, write_sheets

DOORS = ["Door ref", "Team", "Leaves", "Overall width mm", "Overall height mm", "Fitted on"]
CALL = ["Date reported", "Visited", "Complaint"]


def door(number, *calls):
    return [f"B{number}", "Team Elm", 3, 2700, 2100, day(number), *(cell for call in calls for cell in call)]


def call(number, text):
    return [day(number), day(number + 3), text]


FIRST = door(1, call(40, "leaf drags on the sill"), call(90, "water at the threshold"))
ROWS = [FIRST, door(2), door(3, call(60, "lock will not turn")), door(4, call(61, "draught between the leaves"))]


def under_titles(titles):
    top = [*DOORS, *(cell for title in titles for cell in (title, None, None))]
    merges = [("Doors", f"{chr(65 + at)}1:{chr(67 + at)}1") for at in range(len(DOORS), len(DOORS) + 6, 3)]
    return [top, [None] * len(DOORS) + CALL * 2, *ROWS], merges


def in_one_row():
    return [
        [*DOORS, *(f"Callback {number} {what}" for number in (1, 2) for what in ("date", "visit", "problem"))],
        *ROWS,
    ]


CALLS = [("B1", 40, "leaf drags on the sill"), ("B1", 90, "water at the threshold"), ("B3", 60, "lock will not turn")]
CALLS += [("B4", 61, "draught between the leaves")]


def taken_in(firm, rows, merges=()):
    write_sheets(firm.folder / "Doors.xlsx", {"Doors": rows}, merges)
    matched(firm, "Doors.xlsx")
    firm.take_in()
    found = firm.ask("SELECT callback_id, install_id, reported_on::TEXT, visited_on::TEXT FROM callbacks ORDER BY 2, 3")
    notes = dict(firm.people("SELECT callback_id, note FROM callback_people"))
    return [(known, reported, visited, notes[own]) for own, known, reported, visited in found]


MEANT = [(known, f"{day(at):%Y-%m-%d}", f"{day(at + 3):%Y-%m-%d}", text) for known, at, text in CALLS]


@pytest.mark.parametrize("titles", [("1st call back", "2nd call back"), ("First callback", "Second callback")])
def test_each_group_of_columns_is_a_call(empty_firm, titles):
    assert taken_in(empty_firm, *under_titles(titles)) == MEANT
    assert empty_firm.account("callbacks") == (4, 4, 0, 0)
    assert empty_firm.account("installs") == (4, 4, 0, 0)


def test_each_number_in_the_headings_is_a_call(empty_firm):
    assert taken_in(empty_firm, in_one_row()) == MEANT


def test_calls_keep_their_numbers_when_another_follows(empty_firm):
    taken_in(empty_firm, *under_titles(["1st call back", "2nd call back"]))
    before = set(empty_firm.ask("SELECT callback_id FROM callbacks"))
    rows, merges = under_titles(["1st call back", "2nd call back"])
    rows[4] = door(3, call(60, "lock will not turn"), call(99, "handle is loose"))
    write_sheets(empty_firm.folder / "Doors.xlsx", {"Doors": rows}, merges)
    empty_firm.take_in()
    after = set(empty_firm.ask("SELECT callback_id FROM callbacks"))
    assert before < after
    assert len(after) == len(before) + 1
    # each call stands once in the history of its version
    assert empty_firm.ask("SELECT count(*) FROM callbacks_history WHERE NOT superseded") == [(5,)]


def test_a_call_without_its_day_is_set_aside_under_its_own_heading(empty_firm):
    rows, merges = under_titles(["1st call back", "2nd call back"])
    rows[2] = door(1, call(40, "leaf drags on the sill"), ["soon", None, "water at the threshold"])
    taken_in(empty_firm, rows, merges)
    aside = empty_firm.ask('SELECT "row", "column", "value" FROM rejections')
    assert aside == [(3, "2nd call back / Date reported", "soon")]


def test_services_of_every_year_are_no_calls(empty_firm):
    rows, merges = under_titles(["1st service", "2nd service"])
    write_sheets(empty_firm.folder / "Doors.xlsx", {"Doors": rows}, merges)
    (one,) = match_files([empty_firm.folder / "Doors.xlsx"], is_terminal=False).matched
    assert "callbacks" not in one.proposals[0].columns


@pytest.mark.parametrize(
    ("each", "told"),
    [
        ([{"visited_on": "Visited"}], "reported_on is missing"),
        ([{"reported_on": "Rang", "leaf": "Leaf"}], "'leaf' is not a column of callbacks"),
        ([{"reported_on": "Rang", "install_id": "Door"}], "install_id stands in each and beside it"),
        (["Rang"], "every line of each is one call"),
    ],
)
def test_a_group_that_cannot_be_meant_is_refused(each, told):
    calls = {"callback_id": {"from": "row"}, "install_id": "Door", "each": each}
    with pytest.raises(UserError, match=told):
        parse_mapping([{"file": "Doors.xlsx", "callbacks": calls}])


def test_what_a_call_was_for_stands_under_its_own_title_not_under_remarks_on_the_door(empty_firm):
    heads = ["Door ref", "Team", "Fitted on", "Overall width mm", "Remarks"]
    calls = ["Reported", "Complaint", "Responsibility"]
    rows = [
        [f"B{at}", "Elm", day(at), 2700, "parking at the back" if at % 2 else None, None, None, None]
        for at in range(1, 7)
    ]
    rows[1][5:] = [day(40), "leaf drags on the sill", "product"]
    rows[2][5:] = [day(50), "water at the threshold", "installation"]
    top = [*heads, "CALLBACK", None, None]
    book = {"Doors": [top, [None] * len(heads) + calls, *rows]}
    write_sheets(empty_firm.folder / "Doors.xlsx", book, [("Doors", "F1:H1")])
    matched(empty_firm, "Doors.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, responsibility FROM callbacks ORDER BY 1") == [
        ("B2", "product"),
        ("B3", "installation"),
    ]
    notes = {note for (note,) in empty_firm.people("SELECT note FROM callback_people")}
    assert notes == {"leaf drags on the sill", "water at the threshold"}
    assert empty_firm.ask("SELECT count(*) FROM rejections") == [(0,)]
