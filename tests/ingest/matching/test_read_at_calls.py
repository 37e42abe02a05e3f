"""Logs of callbacks: who called beside whose door it is, hours beside clock times, and what was read at the visit.

All invented; how such logs look is common practice, no source.
"""

import pytest

from tests.ingest.matching.test_match import day, matched, write_sheets

HEAD = ["Call no", "Date of call", "At", "Job", "Complaint", "Visited on", "Fault", "Panel no"]
ROWS = [
    ["C1", day(10), "9:15", "D1", "catches at the top", day(14), "binding", 2],
    ["C2", day(11), "14:30", "D2", "will not lock", day(15), "lock misaligned", 1],
    ["C3", day(12), "8:45", "D3", "water on the floor", day(16), "water ingress", None],
    ["C4", day(13), "11:00", "D4", "dropped", day(17), "dropped leaf", 3],
]
TENANTS = ["tenant", "owner", "Site manager", "tenant"]
GAPS = [[3.5, 6], [4, 5.5], [None, None], [2.5, 7]]


def taken_in(firm, more, cells, *, rows=ROWS):
    doors = [["Door", "Crew", "Fitted", "Leaves"], *([f"D{n}", "Elm", day(n), 3] for n in range(1, 7))]
    log = [[*HEAD, *more], *([*row, *own] for row, own in zip(rows, cells, strict=True))]
    write_sheets(firm.folder / "book.xlsx", {"Doors": doors, "Calls": log})
    matched(firm, "book.xlsx")
    firm.take_in()
    assert firm.account("callbacks")[1] == 4


def test_gaps_read_at_a_visit_are_readings_of_that_day(empty_firm):
    """Before, they were told as not read."""
    taken_in(empty_firm, ["Head gap hinge as found", "Head gap lock as found"], GAPS)
    together = "readings JOIN callbacks USING (install_id)"
    assert empty_firm.ask(f"SELECT DISTINCT read_on = visited_on FROM {together}") == [(True,)]
    asked = "SELECT install_id, member, station, value FROM readings ORDER BY ALL"
    assert empty_firm.ask(asked) == [
        ("D1", "leaf_2", "hinge", 3.5),
        ("D1", "leaf_2", "lock", 6.0),
        ("D2", "leaf_1", "hinge", 4.0),
        ("D2", "leaf_1", "lock", 5.5),
        ("D4", "leaf_3", "hinge", 2.5),
        ("D4", "leaf_3", "lock", 7.0),
    ]


def test_without_the_day_of_the_visit_nothing_read_is_taken_for_a_reading_of_the_fitting(empty_firm):
    rows = [[*row[:5], None, *row[6:]] if row[0] == "C2" else row for row in ROWS]
    taken_in(empty_firm, ["Head gap hinge as found", "Head gap lock as found"], GAPS, rows=rows)
    assert empty_firm.ask("FROM readings") == []


def test_what_was_left_after_the_work_is_no_second_reading_of_one_place(empty_firm):
    headings = ["Head gap hinge as found", "Head gap hinge after"]
    taken_in(empty_firm, headings, GAPS)
    assert empty_firm.ask("SELECT value FROM readings ORDER BY 1") == [(2.5,), (3.5,), (4.0,)]


@pytest.mark.parametrize(
    "who", [["tenant", "owner", "Site manager", "tenant"], ["N. Ash", "P. Elm", "Q. Fir", "R. Oak"]]
)
def test_who_called_gives_way_to_the_customer(empty_firm, who):
    names = ["A. Reed", "B. Sedge", "C. Rush", "D. Fern"]
    taken_in(empty_firm, ["Who called", "Customer"], list(zip(who, names, strict=True)))
    assert empty_firm.people("SELECT customer FROM callback_people ORDER BY callback_id") == [(one,) for one in names]


def test_who_somebody_is_to_the_house_is_no_customer(empty_firm):
    taken_in(empty_firm, ["Who called"], [[one] for one in TENANTS])
    assert empty_firm.people("SELECT DISTINCT customer FROM callback_people") in ([], [(None,)])


def test_clock_times_give_way_to_the_hours(empty_firm):
    taken_in(
        empty_firm, ["Time", "Labour hrs"], list(zip(["9:15", "14:30", "8:45", "11:00"], [1, 2, 0.5, 1.5], strict=True))
    )
    assert empty_firm.ask("SELECT hours FROM callbacks ORDER BY callback_id") == [(1.0,), (2.0,), (0.5,), (1.5,)]
