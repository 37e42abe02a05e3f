"""Sheets that made a whole file fail, or came in as something else, all invented.

How such sheets look is common practice, no source.
"""

import pytest

from pipeline.ingest.matching.columns.known import Known
from tests.ingest.matching.test_mapped_sheets import write_sheet
from tests.ingest.matching.test_match import add_doors, day, matched

PLACED = ["Number", "Client", "Street", "Postal code", "Team", "Type", "Panels", "Width (mm)", "Height (mm)"]


def doors(day_heading, n=6):
    rows = [
        [f"V{100 + k}", f"Fam. {'ABCDEF'[k]}", f"{k} Row", f"0{k} QX", "North", "Fold 5", 4, 3000 + k, 2200, day(k + 1)]
        for k in range(n)
    ]
    return [[*PLACED, day_heading], *rows]


@pytest.mark.parametrize("heading", ["Placed on", "Date mounted"])
def test_the_day_a_door_was_placed_is_that_of_fitting(empty_firm, heading):
    write_sheet(empty_firm.folder / "doors.xlsx", doors(heading))
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT fitted_on::TEXT FROM installs WHERE install_id = 'V102'") == [("2025-01-09",)]


@pytest.mark.parametrize(
    ("day_heading", "more"), [("Order placed", "Delivered"), ("Order placed", None), ("Date of order", None)]
)
def test_a_list_of_doors_without_a_day_of_fitting_is_no_list_of_instruments(empty_firm, day_heading, more):
    """Number and Type would do for instruments; whose the doors are and how wide says that they are none."""
    rows = [[*row, row[-1] if n else more] if more else row for n, row in enumerate(doors(day_heading))]
    write_sheet(empty_firm.folder / "doors.xlsx", rows)
    one = matched(empty_firm, "doors.xlsx")
    assert not [record for proposal in one.proposals for record in proposal.columns]
    ((_, why),) = one.unread
    assert why.startswith("installs cannot be made: no column is fitted_on")


def test_a_list_of_what_was_measured_is_no_log_of_calls_for_its_remarks(empty_firm):
    """Most of its doors are in no list that was given; some are, so its job numbers are those of doors."""
    add_doors(empty_firm, [f"V{number}" for number in range(120, 140)])
    heads = ["Order number", "Measured on", "Sill level left", "Sill level right", "Head gap leaf 1 hinge", "Remarks"]
    rows = [[f"V{n}", day(n - 110), n % 3, 1, 4, "wind from west" if n % 2 else None] for n in range(111, 127)]
    write_sheet(empty_firm.folder / "measuring list.xlsx", [heads, *rows])
    matched(empty_firm, "measuring list.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM callbacks") == [(0,)]
    left = "SELECT install_id, value, read_on::TEXT FROM readings WHERE measure = 'sill_height' AND station = 'left'"
    assert ("V120", 0, "2025-01-16") in empty_firm.ask(left)
    assert empty_firm.account("readings") == (48, 21, 27, 0)


def test_numbers_that_few_doors_have_or_that_are_of_jobs_are_none_of_doors():
    known = Known(frozenset({"v101", "v102", "v103", "v104", "1", "2", "3", "4"}), frozenset({"j1", "j2", "j3", "j4"}))
    assert known.are_some_doors(frozenset({"v101", "v102", "v103", "v104", "v105", "v106"}))
    assert not known.are_some_doors(frozenset({"v101", "v102", "v103", "v105"}))
    assert not known.are_some_doors(frozenset({"1", "2", "3", "4"}))
    assert not known.are_some_doors(frozenset({"v101", "v102", "v103", "v104", "j1", "j2", "j3", "j4"}))


def test_what_counts_complaints_up_is_no_text_of_one(empty_firm):
    add_doors(empty_firm, ["D1", "D2", "D3", "D4"])
    heads = ["Complaint", "Date of complaint", "Door no", "Complaint text", "Visited on", "Whose"]
    blame = ["Product", "Customer use", "Wear", "Building"]
    rows = [[f"K{400 + n}", day(10 + n), f"D{n}", f"Leaf {n} scrapes", day(12 + n), blame[n - 1]] for n in range(1, 5)]
    write_sheet(empty_firm.folder / "log.xlsx", [heads, *rows])
    matched(empty_firm, "log.xlsx")
    empty_firm.take_in()
    found = "SELECT callback_id, install_id, reported_on::TEXT, responsibility FROM callbacks ORDER BY 1 LIMIT 2"
    assert empty_firm.ask(found) == [("K401", "D1", "2025-01-17", "product"), ("K402", "D2", "2025-01-18", "use")]


def test_of_two_numbers_in_a_log_the_one_that_counts_its_rows_is_no_door(empty_firm):
    add_doors(empty_firm, ["R51", "R52", "R53", "R54"])
    heads = ["Ref", "Date", "Job ref", "Client", "Complaint"]
    jobs = ["R51", "R 52", None, "R 53", "R54"]
    rows = [[f"C{20 + n}", day(10 + n), job, f"Mx {n}", f"Leaf {n} scrapes now"] for n, job in enumerate(jobs)]
    write_sheet(empty_firm.folder / "log.xlsx", [["Complaints book"], heads, *rows])
    matched(empty_firm, "log.xlsx")
    empty_firm.take_in()
    found = "SELECT callback_id, install_id, job_no FROM callbacks ORDER BY 1"
    assert empty_firm.ask(found) == [(f"C{20 + n}", None, job) for n, job in enumerate(jobs)]


GAPS = ["Door", *(f"Leaf {leaf} head gap {end}" for leaf in (1, 2) for end in ("hinge", "lock"))]


@pytest.mark.parametrize(
    ("title", "factor"),
    [("Gaps at final adjustment, inches", 25.4), ("Final gaps (in inches)", 25.4), ("Final gaps - cm", 10)],
)
def test_a_unit_set_off_in_the_title_is_that_of_numbers_that_fit_several(empty_firm, title, factor):
    # an inch is 25.4 mm exactly: NIST SP 811, appendix B
    add_doors(empty_firm, ["D1", "D2"])
    write_sheet(
        empty_firm.folder / "gaps.xlsx", [[title], GAPS, ["D1", 0.25, 0.2, 0.3, "ok"], ["D2", 0.2, 0.3, 0.25, 0.2]]
    )
    matched(empty_firm, "gaps.xlsx")
    empty_firm.take_in()
    first = "SELECT value FROM readings WHERE install_id = 'D1' AND member = 'leaf_1' AND station = 'hinge'"
    assert empty_firm.ask(first) == [(pytest.approx(0.25 * factor),)]
    assert empty_firm.account("readings") == (8, 8, 0, 0)


@pytest.mark.parametrize("title", ["Gaps at final adjustment", "mm or inches", "Fill in, please"])
def test_without_a_title_that_says_one_unit_such_numbers_are_left_to_a_person(empty_firm, title):
    add_doors(empty_firm, ["D1", "D2"])
    write_sheet(
        empty_firm.folder / "gaps.xlsx", [[title], GAPS, ["D1", 0.25, 0.2, 0.3, 0.2], ["D2", 0.2, 0.3, 0.25, 0.2]]
    )
    one = matched(empty_firm, "gaps.xlsx")
    assert not [record for proposal in one.proposals for record in proposal.columns]


def test_a_key_to_what_stands_in_cells_is_none_to_headings(empty_firm):
    """R is Rowan's gang under Fitted by; beside Sill L it is the right-hand end."""
    heads = ["Door", "Fitted by", "Date fitted", "Width", "Sill L", "Sill C", "Sill R", "Leaves"]
    rows = [
        ["D1", "T", day(1), 3000, 0, 1, 2, 4],
        ["D2", "R", day(2), 3100, 1, 1, 0, 4],
        ["D3", "T", day(3), 3200, 0, 0, 1, 4],
    ]
    write_sheet(empty_firm.folder / "book.xlsx", [heads, *rows, [], ["T = Tamsin's gang"], ["R = Rowan's gang"]])
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    sill = "SELECT position_mm, value FROM readings WHERE install_id = 'D1' ORDER BY 1"
    assert empty_firm.ask(sill) == [(0, 0), (1500, 1), (3000, 2)]
    assert empty_firm.set_aside() == []


def test_notes_right_under_a_table_are_passed_over_and_told(empty_firm):
    """Van 1 = Blythe and Fenn stands under the doors' numbers and has a digit; it is no door for that."""
    heads = ["Door", "Fitted by", "Date fitted", "Width", "Leaves", "Sill left", "Sill right"]
    rows = [
        ["D1", "Van 1", day(1), 3000, 4, 0, 1],
        ["D2", "Van 2", day(2), 3100, 4, 1, 1],
        ["D3", "Van 1", day(3), 3200, 4, 0, 0],
    ]
    notes = [["Van 1 = Blythe and Fenn"], [None, None, "blank = same as the door above"]]
    write_sheet(empty_firm.folder / "book.xlsx", [heads, *rows, *notes])
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    assert empty_firm.account("installs") == (3, 3, 0, 0)
    assert "rows 5, 6 passed over: a line of text alone" in empty_firm.ask("SELECT reason FROM files")[0][0]
