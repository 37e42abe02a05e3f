"""Logs that say the job alone where the list of doors says which of its doors: T3120 for T3120/1.

All invented; how such sheets look is common practice, no source.
"""

import pytest

from tests.ingest.matching.test_match import day, matched, write_sheets

FACTS = ["Crew", "Fitted", "Leaves"]


def book(firm, calls, between="/"):
    doors = [[f"T{3120 + n}{between}1", "Elm", day(n), 3] for n in range(1, 8)]
    doors.append([f"T3123{between}2", "Elm", day(3), 3])
    rows = [[day(10 + n), job, "stiff to run", day(12 + n)] for n, job in enumerate(calls)]
    sheets = {"Doors": [["Job", *FACTS], *doors], "Calls": [["Reported", "Job", "Complaint", "Visited"], *rows]}
    write_sheets(firm.folder / "book.xlsx", sheets)
    matched(firm, "book.xlsx")
    firm.take_in()
    sql = (
        "SELECT c.job_no, i.install_id FROM callbacks AS c JOIN job_numbers AS j USING (job_no) LEFT JOIN"
        " (SELECT install_id, job_key FROM installs JOIN job_numbers USING (job_no)) AS i ON i.job_key = j.job_key"
        " ORDER BY reported_on"
    )
    return firm.ask(sql)


@pytest.mark.parametrize("between", ["/", "-", " / "])
def test_the_job_alone_means_its_only_door(empty_firm, between):
    found = book(empty_firm, ["T3121", "T3122", "T3121", "T3125", "T3127", "T3124"], between)
    assert empty_firm.account("callbacks") == (6, 6, 0, 0)
    assert [door for _, door in found] == [f"T{n}{between}1" for n in (3121, 3122, 3121, 3125, 3127, 3124)]


def test_of_a_job_with_two_doors_neither_is_taken(empty_firm):
    found = book(empty_firm, ["T3121", "T3123", "T3122", "T3125", "T3127"])
    assert empty_firm.account("callbacks") == (5, 5, 0, 0)
    assert dict(found)["T3123"] is None
    assert dict(found)["T3125"] == "T3125/1"


def test_a_job_number_that_slipped_in_twice_sets_two_doors_aside_and_no_more(empty_firm):
    """Before, what the doors are made of numbered them, and no door came in."""
    heads = ["Job no", "Team", "Fitted", "Frame", "Width mm"]
    frames = ["alu", "timber", "PVCu", "timber"] * 4
    rows = [[4000 + at, "Elm", day(at + 1), frame, 2700 + at] for at, frame in enumerate(frames)]
    rows[5][0] = rows[4][0]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [heads, *rows]})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert empty_firm.account("installs") == (16, 14, 2, 0)
    assert empty_firm.ask("SELECT count(DISTINCT material) FROM installs") == [(3,)]
