"""Doors numbered by their job and a letter, headers that begin a row higher or count their columns; all invented.

How such lists look is common practice, no source.
"""

from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.test_match import add_doors, day, matched, write_sheets


def test_a_job_and_the_letter_of_its_door_number_it_in_every_sheet(empty_firm):
    heads = ["Job", "Door", "Team", "Fitted", "Width", "Height"]
    doors = [[100 if letter == "A" else None, letter, "Elm", day(2), 3000, 2100] for letter in "AB"]
    doors += [[101 if letter == "A" else None, letter, "Elm", day(3), 3100, 2100] for letter in "ABC"]
    write_sheets(empty_firm.folder / "list.xlsx", {"Doors": [heads, *doors]})
    levels = [[job, letter, 0, 1] for job, letter in ((100, "A"), (100, "B"), (101, "C"))]
    write_sheets(empty_firm.folder / "levels.xlsx", {"Site": [["Job", "Door", "Sill L", "Sill R"], *levels]})
    match_files([empty_firm.folder / "levels.xlsx", empty_firm.folder / "list.xlsx"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, job_no, width_mm FROM installs ORDER BY 1") == [
        ("100-A", "100", 3000), ("100-B", "100", 3000), ("101-A", "101", 3100), ("101-B", "101", 3100),
        ("101-C", "101", 3100),
    ]  # fmt: skip
    assert empty_firm.ask("SELECT DISTINCT install_id FROM readings ORDER BY 1") == [("100-A",), ("100-B",), ("101-C",)]
    assert empty_firm.account("readings") == (6, 6, 0, 0)


def test_a_count_of_the_doors_of_a_job_numbers_them_and_not_their_leaves(empty_firm):
    """Before, the job numbered the door, its second door contradicted the first, and the count was that of leaves."""
    heads = ["Job", "Door no.", "Team", "Leaves", "Width", "Fitted"]
    counted = [(100, 1), (100, 2), (101, 1), (102, 1), (102, 2), (102, 3)]
    doors = [[job, number, "Elm", 4, 3000 + job + number, day(job - 99)] for job, number in counted]
    levels = [[job, number, 0, 1, "Y"] for job, number in counted]
    calls = [["C1", 100, 2, day(50), "drags on the sill"], ["C2", 102, 3, day(60), "lets water in"]]
    calls += [["C3", 101, None, day(61), "will not lock"], ["C4", 102, 1, day(70), "cold draught"]]
    sheets = {
        "Doors": [heads, *doors],
        "Checks": [["Job", "Door no.", "Sill L", "Sill R", "Track clean"], *levels],
        "Calls": [["Call", "Job", "Door no.", "Reported", "What is wrong"], *calls],
    }
    write_sheets(empty_firm.folder / "book.xlsx", sheets)
    match_files([empty_firm.folder / "book.xlsx"], is_terminal=False)
    empty_firm.take_in()
    numbers = [f"{job}-{number}" for job, number in counted]
    assert empty_firm.ask("SELECT install_id FROM installs ORDER BY 1") == [(number,) for number in numbers]
    assert empty_firm.ask("SELECT DISTINCT install_id FROM readings ORDER BY 1") == [(number,) for number in numbers]
    assert empty_firm.ask('SELECT DISTINCT "check", member FROM checks') == [("track_clean", None)]
    assert empty_firm.ask("SELECT callback_id, install_id, job_no FROM callbacks ORDER BY 1") == [
        # where no door is said, the job has but one
        ("C1", "100-2", "100"), ("C2", "102-3", "102"), ("C3", "101-1", "101"), ("C4", "102-1", "102"),
    ]  # fmt: skip


def test_a_header_whose_first_headings_stand_a_row_higher(empty_firm):
    add_doors(empty_firm, [f"K-{number}" for number in range(1, 5)])
    heads = [
        ["Door", "As fitted", None, None, "Once more", None],
        [None, "Sill L", "Sill R", "Date", "Sill L", "Sill R"],
    ]
    rows = [[f"K-{number}", 0, number, day(number), 0, 1] for number in range(1, 5)]
    write_sheets(empty_firm.folder / "twice.xlsx", {"R": [*heads, *rows]})
    matched(empty_firm, "twice.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT value FROM readings WHERE install_id = 'K-3' ORDER BY station") == [(0,), (3,)]


def test_columns_counted_under_one_heading_from_either_end(empty_firm):
    add_doors(empty_firm, ["K-1", "K-2"])
    heads = [["Door", "Member", "Fixing positions from bottom / left (mm)"], [None, None, 1, 2, 3]]
    rows = [[door, member, 150, 700, 1300] for door in ("K-1", "K-2") for member in ("Left jamb", "Head")]
    write_sheets(empty_firm.folder / "fixings.xlsx", {"R": [*heads, *rows]})
    matched(empty_firm, "fixings.xlsx")
    empty_firm.take_in()
    fixings = "SELECT member, station, value FROM readings WHERE install_id = 'K-2' ORDER BY ALL"
    assert empty_firm.ask(fixings) == [
        (member, str(number), value)
        for member in ("head", "left_jamb")
        for number, value in ((1, 150), (2, 700), (3, 1300))
    ]
    assert empty_firm.account("readings") == (12, 12, 0, 0)


def test_a_list_of_holidays_is_no_list_of_crews(empty_firm):
    rows = [["Crew", "From", "To"], ["North", day(1), day(8)], ["South", day(30), day(40)]]
    write_sheets(empty_firm.folder / "office.xlsx", {"Holidays": rows})
    assert matched(empty_firm, "office.xlsx").proposals == []
