"""Several sheets that name the same doors: which of them lists the doors, and what numbers these; all invented.

How offices keep their books is common practice, no source.
"""

from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.test_match import add_doors, day, write_sheets

BOOK = ["Job no", "Client", "Address", "Team", "System", "Panels", "Width mm", "Height mm", "Fitted", "Handed over"]
SIZES = [(3, 2700, 2100), (4, 3600, 2150), (5, 4400, 2080), (3, 2650, 2200), (4, 3510, 2120), (2, 1810, 2095)]


def door(at, number):
    leaves, width, height = SIZES[at]
    who = [f"Mx Doe{at}", f"{at + 3} Pebble Row", f"Team {at % 2 + 1}"]
    return [number, *who, "Sol 40", leaves, width, height, day(7 * at), day(7 * at + 1)]


def check_sheet(numbers, key="Job no"):
    heads = [key, "Fitter", "Date", "Sill level left", "Sill level centre", "Sill level right", "Drainage clear", "Rem"]
    rows = [[number, f"Ann{at}", day(7 * at), 0.5, at, 1.5, "yes", None] for at, number in enumerate(numbers)]
    return [["Check sheet, mm"], [], heads, *rows]


def match_all(firm):
    files = sorted(one for one in firm.folder.iterdir() if one.suffix != ".toml")
    return match_files(files, is_terminal=False).matched


def test_a_protocol_with_a_fitter_and_a_day_is_no_second_list_of_the_doors(empty_firm):
    numbers = [f"25-{at + 101}" for at in range(6)]
    write_sheets(empty_firm.folder / "Book.xlsx", {"2025": [BOOK, *(door(at, one) for at, one in enumerate(numbers))]})
    write_sheets(empty_firm.folder / "Checks.xlsx", {"Sheet1": check_sheet(numbers)})
    match_all(empty_firm)
    empty_firm.take_in()
    assert empty_firm.account("installs") == (6, 6, 0, 0)
    assert empty_firm.ask("SELECT DISTINCT crew FROM installs ORDER BY 1") == [("Team 1",), ("Team 2",)]
    assert empty_firm.account("readings") == (18, 18, 0, 0)
    assert empty_firm.account("checks") == (6, 6, 0, 0)
    # its day is then that of the reading
    assert empty_firm.ask("SELECT DISTINCT read_on::TEXT FROM readings WHERE install_id = '25-102'") == [
        ("2025-01-13",)
    ]


def test_a_rota_in_the_same_book_makes_no_door_and_says_why(empty_firm):
    numbers = [f"J{at + 401}" for at in range(6)]
    turns = [[one, f"Van {at % 3}", day(7 * at)] for at, one in enumerate(numbers)]
    rota = [["Rota"], ["Job no", "Van", "Date"], *turns]
    sheets = {"Doors": [BOOK, *(door(at, one) for at, one in enumerate(numbers))], "Rota": rota}
    write_sheets(empty_firm.folder / "Office.xlsx", sheets)
    (one,) = match_all(empty_firm)
    assert [name for name, why in one.unread if "which says more of them" in why] == ["Rota"]
    empty_firm.take_in()
    assert empty_firm.account("installs") == (6, 6, 0, 0)
    assert empty_firm.ask("SELECT count(*) FROM crews") == [(0,)]


def test_a_protocol_beside_doors_listed_in_the_form_that_needs_no_mapping(empty_firm):
    numbers = ["D1", "D2", "D3", "D4"]
    rows = "\n".join(f"{one},Alder,2025-01-10,3000,2100,3" for one in numbers)
    empty_firm.write("installs.csv", f"install_id,crew,fitted_on,width_mm,height_mm,leaves\n{rows}\n")
    write_sheets(empty_firm.folder / "Checks.xlsx", {"Sheet1": check_sheet(numbers, "Door no")})
    match_all(empty_firm)
    empty_firm.take_in()
    assert empty_firm.account("installs") == (4, 4, 0, 0)
    assert empty_firm.account("readings") == (12, 12, 0, 0)


def test_a_short_list_of_other_doors_is_a_list_of_its_own(empty_firm):
    numbers = [f"J{at + 401}" for at in range(6)]
    older = [["Job no", "Team", "Fitted"], *([f"J{at + 301}", "Team 1", day(7 * at - 90)] for at in range(5))]
    sheets = {"Doors": [BOOK, *(door(at, one) for at, one in enumerate(numbers))], "Older": older}
    write_sheets(empty_firm.folder / "Office.xlsx", sheets)
    match_all(empty_firm)
    empty_firm.take_in()
    assert empty_firm.account("installs") == (11, 11, 0, 0)


def levels(key, numbers):
    rows = [[one, 0.5, at % 3, 1.5] for at, one in enumerate(numbers)]
    return [[key, "sill level left mm", "sill level centre mm", "sill level right mm"], *rows]


def test_doors_numbered_by_what_the_office_has_at_hand(empty_firm):
    quotes = [f"Q{at * 3 + 211}" for at in range(6)]
    book = [["Quote", *BOOK[1:]], *(door(at, one) for at, one in enumerate(quotes))]
    write_sheets(empty_firm.folder / "Schedule.xlsx", {"Schedule": book, "Levels": levels("Quote", quotes[1:])})
    match_all(empty_firm)
    empty_firm.take_in()
    assert empty_firm.account("installs") == (6, 6, 0, 0)
    assert empty_firm.ask("SELECT min(install_id), max(install_id) FROM installs") == [("Q211", "Q226")]
    assert empty_firm.account("readings") == (15, 15, 0, 0)


def test_where_two_columns_may_number_the_doors_a_person_says_which(empty_firm):
    quotes, orders = ([f"{letter}{at * 3 + 211}" for at in range(6)] for letter in "QP")
    rows = [[order, *door(at, quote)] for at, (quote, order) in enumerate(zip(quotes, orders, strict=True))]
    sheets = {"Schedule": [["PO", "Quote", *BOOK[1:]], *rows], "Levels": levels("Quote", quotes)}
    sheets["Gaps"] = [["PO", "Panel 1 head gap hinge", "Panel 1 head gap lock"], *([one, 4, 5] for one in orders)]
    write_sheets(empty_firm.folder / "Schedule.xlsx", sheets)
    (one,) = match_all(empty_firm)
    assert any("no column is install_id" in why for _, why in one.unread)


def test_a_crew_left_blank_beside_a_day_left_blank_is_that_of_the_day(empty_firm):
    """However often the same crew is written again on the next day."""
    book = [BOOK, *(door(at, f"J{at + 401}") for at in range(6))]
    for row in book[1:]:
        row[3] = "Team 1"
    for at in (2, 4):
        book[at][8] = book[at][3] = None
    write_sheets(empty_firm.folder / "Book.xlsx", {"2025": book})
    match_all(empty_firm)
    empty_firm.take_in()
    assert empty_firm.account("installs") == (6, 6, 0, 0)
    found = "SELECT crew, fitted_on::TEXT FROM installs WHERE install_id IN ('J402', 'J405') ORDER BY install_id"
    assert empty_firm.ask(found) == [("Team 1", "2025-01-06"), ("Team 1", "2025-02-03")]


def calls(heads, numbers):
    problem = "door drags on the sill and will not lock"
    rows = [[f"S{at}", day(60 + at), one, problem, day(63 + 2 * at)] for at, one in enumerate(numbers)]
    return [heads, *rows]


def test_numbers_of_doors_written_in_several_ways_under_a_heading_that_says_nothing(empty_firm):
    numbers = [f"P{at + 705}" for at in range(6)]
    book = [["PO", *BOOK[1:]], *(door(at, one) for at, one in enumerate(numbers))]
    log = calls(["Call", "Rang on", "PO", "Problem", "Called out"], ["P705", "PO 706", "707", "P708", "po709"])
    write_sheets(empty_firm.folder / "Book.xlsx", {"2025": book, "Levels": levels("PO", numbers), "Calls": log})
    match_all(empty_firm)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT job_no, visited_on::TEXT FROM callbacks ORDER BY callback_id")[:2] == [
        ("P705", "2025-03-10"),
        ("PO 706", "2025-03-12"),
    ]
    # the doors bear the same numbers as those of their jobs, by which linking finds them however they are written
    assert empty_firm.ask("SELECT count(*) FROM installs WHERE job_no = install_id") == [(6,)]


def test_a_day_long_after_the_report_is_none_of_the_visit(empty_firm):
    add_doors(empty_firm, [f"D{at}" for at in range(5)])
    log = calls(["Call", "Rang on", "Door", "Problem", "Called out"], [f"D{at}" for at in range(5)])
    for row in log[1:]:
        row[4] = day(250)
    write_sheets(empty_firm.folder / "Calls.xlsx", {"Calls": log})
    (one,) = match_files([empty_firm.folder / "Calls.xlsx"], is_terminal=False).matched
    assert "visited_on" not in one.proposals[0].columns["callbacks"]
