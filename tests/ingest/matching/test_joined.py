"""Jobs, customers and doors in sheets of their own, all invented.

How offices part them is common practice, no source.
"""

import json
import os

import pytest

from pipeline.errors import UserError
from pipeline.ingest import plan
from pipeline.ingest.declared.mapping_tables import parse_mapping
from pipeline.ingest.matching.sheet import other_sheets
from pipeline.progress import Silence
from pipeline.run import run_firm
from tests.ingest.matching.test_listings import match_all
from tests.ingest.matching.test_match import day, matched, write_sheets
from tests.test_forget import forget, output, people

JOBS = [["Job no", "Client", "Site address", "Postcode", "Fitting team", "Date fitted", "Price"]]
JOBS += [
    [f"J70{at}", f"A. Nobody {at}", f"{at} Mill Lane", f"ZZ{at} 1QX", ("Red", "Blue")[at % 2], day(at), 4000]
    for at in range(1, 6)
]
DOORS = [["Door ref", "Job no", "Width mm", "Height mm", "Leaves", "Sill L", "Sill R"]]
DOORS += [
    [f"D{10 * job + one}", f"J70{job}", 2400 + 100 * one, 2100, 3, one, -1] for job in range(1, 6) for one in (1, 2)
]
ASKED = "SELECT install_id, job_no, crew, fitted_on::TEXT, width_mm FROM installs ORDER BY install_id"


def in_one_book(firm, jobs=JOBS, doors=DOORS):
    write_sheets(firm.folder / "book.xlsx", {"Jobs": jobs, "Doors": doors})
    return matched(firm, "book.xlsx")


def test_doors_take_crew_and_day_from_the_list_of_jobs(empty_firm):
    found = in_one_book(empty_firm)
    told = dict(found.unread)["Jobs"]
    assert "fitted on" in told
    assert told.endswith("not read: 'Price'")
    empty_firm.take_in()
    rows = empty_firm.ask(ASKED)
    assert len(rows) == 10
    assert rows[0] == ("D11", "J701", "Blue", day(1).date().isoformat(), 2500)
    assert empty_firm.people("SELECT customer, postcode FROM install_people WHERE install_id = 'D52'") == [
        ("A. Nobody 5", "ZZ5 1QX")
    ]
    assert empty_firm.ask("SELECT count(*) FROM readings") == [(20,)]


def test_jobs_may_be_a_file_of_their_own_and_a_change_in_it_is_read(empty_firm):
    write_sheets(empty_firm.folder / "jobs.xlsx", {"All": JOBS})
    write_sheets(empty_firm.folder / "doors list.xlsx", {"All": DOORS})
    match_all(empty_firm)
    empty_firm.take_in()
    before = empty_firm.ask(ASKED)
    assert {crew for _, _, crew, _, _ in before} == {"Red", "Blue"}
    write_sheets(
        empty_firm.folder / "jobs.xlsx", {"All": [JOBS[0], *([*row[:4], "Green", *row[5:]] for row in JOBS[1:])]}
    )
    empty_firm.take_in()
    assert {crew for _, _, crew, _, _ in empty_firm.ask(ASKED)} == {"Green"}


def test_customers_may_stand_alone(empty_firm):
    customers = [["Customer ID", "Name", "Address", "Postcode"]]
    customers += [[f"CU-{at}", f"A. Nobody {at}", f"{at} Mill Lane", f"ZZ{at} 1QX"] for at in range(1, 6)]
    doors = [["Door", "Customer ID", "Fitter", "Date fitted", "Width mm"]]
    doors += [[f"D{10 * at + one}", f"CU-{at}", "Red", day(at), 2400] for at in range(1, 6) for one in (1, 2)]
    in_one_book(empty_firm, customers, doors)
    empty_firm.take_in()
    assert empty_firm.people("SELECT customer FROM install_people WHERE install_id = 'D42'") == [("A. Nobody 4",)]


def test_a_number_that_is_not_there_or_says_two_things_leaves_the_door_aside_and_is_told(empty_firm):
    in_one_book(empty_firm)
    jobs = [*JOBS, [*JOBS[1][:4], "Green", *JOBS[1][5:]]]
    write_sheets(
        empty_firm.folder / "book.xlsx", {"Jobs": jobs, "Doors": [*DOORS, ["D99", "J999", 2400, 2100, 3, 0, 0]]}
    )
    notes = " ".join(empty_firm.take_in().notes)
    empty = "crew, fitted_on, customer, address, postcode are empty where 'Job no' is"
    assert f"{empty} J999, which sheet Jobs does not have" in notes
    assert "crew is empty where 'Job no' is J701, of which sheet Jobs says two things" in notes
    assert empty_firm.ask("SELECT count(*) FROM installs") == [(8,)]
    assert {row for (row,) in empty_firm.ask("SELECT DISTINCT \"row\" FROM rejections WHERE record = 'installs'")} == {
        2,
        3,
        12,
    }


def test_a_heading_that_is_gone_from_the_other_sheet_is_told(empty_firm):
    in_one_book(empty_firm)
    write_sheets(empty_firm.folder / "book.xlsx", {"Jobs": [["Job no", "Team"], ["J701", "Red"]], "Doors": DOORS})
    with pytest.raises(UserError, match="is looked up in sheet Jobs, where no table has the headings 'job no' and '"):
        empty_firm.take_in()


def test_jobs_of_two_years_in_two_files_are_looked_up_in_both(empty_firm):
    for year, jobs in (("2024", JOBS[1:4]), ("2025", JOBS[4:])):
        write_sheets(empty_firm.folder / f"jobs {year}.xlsx", {f"Year {year}": [JOBS[0], *jobs]})
    write_sheets(empty_firm.folder / "doors.xlsx", {"All": DOORS})
    found = match_all(empty_firm)
    assert "sheet All of doors.xlsx takes from it" in str(found)
    empty_firm.take_in()
    assert [row[:3] for row in empty_firm.ask(ASKED)][::9] == [("D11", "J701", "Blue"), ("D52", "J705", "Blue")]


def test_jobs_of_a_year_that_comes_later_are_looked_up_under_its_own_sheet(empty_firm):
    write_sheets(empty_firm.folder / "jobs 2024.xlsx", {"Year 2024": JOBS[:4]})
    write_sheets(empty_firm.folder / "doors.xlsx", {"All": DOORS[: len(DOORS) * 3 // 5]})
    match_all(empty_firm)
    write_sheets(empty_firm.folder / "jobs 2025.xlsx", {"Year 2025": [JOBS[0], *JOBS[4:]]})
    write_sheets(empty_firm.folder / "doors.xlsx", {"All": DOORS})
    empty_firm.take_in()
    assert [row[:3] for row in empty_firm.ask(ASKED)][::9] == [("D11", "J701", "Blue"), ("D52", "J705", "Blue")]


def test_a_log_with_a_call_for_every_job_stays_a_log_though_it_names_customers(empty_firm):
    doors = [["Door", "Job no", "Fitter", "Date fitted", "Width mm"]]
    doors += [[f"D{10 * at + one}", f"J70{at}", "Red", day(at), 2400] for at in range(1, 6) for one in (1, 2)]
    calls = [["Job no", "Customer", "Address", "Date reported", "Problem"]]
    calls += [[f"J70{at}", f"A. Nobody {at}", f"{at} Mill Lane", day(40 + at), "leaks at sill"] for at in range(1, 6)]
    write_sheets(empty_firm.folder / "book.xlsx", {"Calls": calls, "Doors": doors})
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM callbacks") == [(5,)]


def test_a_list_that_says_all_of_its_doors_looks_nothing_up(empty_firm):
    doors = [[*DOORS[0], "Crew", "Fitted", "Customer"], *([*row, "Elm", day(3), "B. Nobody"] for row in DOORS[1:])]
    in_one_book(empty_firm, doors=doors)
    assert "look_up" not in (empty_firm.folder / "fitback.toml").read_text(encoding="utf-8")


def looking_into(firm, pattern, **files):
    """What a run says of doors whose crew stands in files of that pattern; by crew where it takes them in."""
    firm.write("fitted.csv", "Door,Job,Done\nA1,7001,2025-03-04\nA2,7002,2025-03-05\n")
    for name, text in files.items():
        firm.write(f"{name}.csv", text)
    (firm.folder / "fitback.toml").write_text(
        '[[sheet]]\nfile = "fitted.csv"\n[sheet.installs]\ninstall_id = "Door"\nfitted_on = "Done"\n'
        f'crew = {{ look_up = "Team", in = "{pattern}", by = ["Job", "Order"] }}\n'
    )
    return " ".join(firm.take_in().notes)


TEAMS = "Order,Team\n7001,Red\n7002,Blue\n"


@pytest.mark.parametrize(
    ("pattern", "files", "told"),
    [
        ("jobs.csv", {}, r"looked up in jobs\.csv, and no file of that name"),
        ("jobs.csv", {"jobs": ""}, r"looked up in jobs\.csv, which cannot be used: the file is empty"),
        (
            "jobs.csv",
            {"jobs": "Order,Gang\n7001,Red\n"},
            r"jobs\.csv, where no table has the headings 'order' and 'team'",
        ),
        ("sub/jobs.csv", {"jobs": TEAMS}, r"sub/jobs\.csv, and no file of that name"),
    ],
)
def test_the_file_named_is_the_one_that_is_wrong(empty_firm, pattern, files, told):
    with pytest.raises(UserError, match=told):
        looking_into(empty_firm, pattern, **files)


def test_a_pipe_of_that_name_is_not_waited_for(empty_firm):
    os.mkfifo(empty_firm.folder / "jobs.csv")
    with pytest.raises(UserError, match="no file of that name"):
        looking_into(empty_firm, "jobs.csv")


def test_the_mark_of_an_open_workbook_is_not_looked_into(empty_firm):
    (empty_firm.folder / "~$old jobs.csv").write_bytes(b"\0")
    assert not looking_into(empty_firm, "*jobs.csv", jobs=TEAMS).count("looked up")
    assert empty_firm.ask("SELECT crew FROM installs ORDER BY ALL") == [("Blue",), ("Red",)]


def test_a_file_of_several_that_lacks_a_heading_is_told(empty_firm):
    notes = looking_into(empty_firm, "jobs*.csv", jobs1=TEAMS, jobs2="Order,Gang\n7003,Red\n")
    assert "nothing is looked up in jobs2.csv, where no table has the headings 'order' and 'team'" in notes


def test_a_blank_beside_a_number_says_nothing_and_one_word_in_two_cases_is_one(empty_firm):
    notes = looking_into(empty_firm, "jobs.csv", jobs="Order,Team\n7001,\n7001,Red\n7001,red\n7002,Blue\n7002,\n")
    assert "two things" not in notes
    assert empty_firm.ask("SELECT install_id, crew FROM installs ORDER BY ALL") == [("A1", "Red"), ("A2", "Blue")]


def test_a_door_set_aside_for_want_of_a_number_names_where_it_was_looked_up(empty_firm):
    looking_into(empty_firm, "jobs.csv", jobs="Order,Team\n7001,Red\n")
    assert empty_firm.ask('SELECT "column" FROM rejections') == [("team, looked up in jobs.csv",)]


def test_what_contradicts_itself_once_stays_in_doubt(empty_firm):
    notes = looking_into(empty_firm, "jobs.csv", jobs="Order,Team\n7001,Red\n7001,Elm\n7001,\n7001,Red\n7002,Blue\n")
    assert "crew is empty where 'Job' is 7001, of which jobs.csv says two things" in notes
    assert empty_firm.ask("SELECT install_id FROM installs") == [("A2",)]


def test_a_file_looked_into_is_read_once_for_all_that_look_into_it(empty_firm, monkeypatch):
    read = []
    at_first = other_sheets.read_grids
    monkeypatch.setattr(other_sheets, "read_grids", lambda path: (read.append(path.name), at_first(path))[1])
    empty_firm.write("jobs.csv", TEAMS)
    for at in (1, 2, 3):
        empty_firm.write(f"fitted {at}.csv", f"Door,Job,Done\nA{at},7001,2025-03-04\n")
    (empty_firm.folder / "fitback.toml").write_text(
        '[[sheet]]\nfile = "fitted*.csv"\n[sheet.installs]\ninstall_id = "Door"\nfitted_on = "Done"\n'
        'crew = { look_up = "Team", in = "jobs.csv", by = ["Job", "Order"] }\n'
    )
    hashed = []
    scanned = plan.scan_file
    monkeypatch.setattr(plan, "scan_file", lambda path: (hashed.append(path.name), scanned(path))[1])
    empty_firm.take_in()
    assert read == ["jobs.csv"]
    assert hashed.count("jobs.csv") == 1
    empty_firm.take_in()
    assert read == ["jobs.csv"]
    assert empty_firm.ask("SELECT count(*) FROM installs WHERE crew = 'Red'") == [(3,)]


def test_jobs_in_several_sheets_are_all_looked_into_and_another_sheet_is_still_told(empty_firm):
    book = empty_firm.folder / "book.xlsx"
    sheets = {"Jobs old": JOBS[:4], "Jobs new": [JOBS[0], *JOBS[4:]], "Doors": DOORS}
    write_sheets(book, sheets | {"Vans": [["Reg", "Driver"], ["ZZ1", "A"], ["ZZ2", "B"]]})
    matched(empty_firm, "book.xlsx")
    notes = " ".join(empty_firm.take_in().notes)
    assert empty_firm.ask("SELECT count(*), count(DISTINCT crew) FROM installs") == [(10, 2)]
    assert "sheet Vans not read" in notes
    assert "Jobs" not in notes


@pytest.mark.parametrize(
    ("crew", "told"),
    [
        ({"look_up": "Team"}, "look_up needs by"),
        ({"look_up": "Team", "by": "Job"}, "look_up needs in"),
        ({"look_up": "Team", "by": ["a", "b", "c"], "in": "jobs.csv"}, "look_up needs by"),
        ({"column": "Team", "by": "Job"}, "by goes with look_up"),
        ({"look_up": "Team", "by": "Job", "in": "jobs.csv", "header_rows": 9}, "header_rows = 9"),
    ],
)
def test_what_cannot_be_looked_up_is_refused(crew, told):
    table = {"file": "a.xlsx", "installs": {"install_id": "Door", "fitted_on": "Fitted", "crew": crew}}
    with pytest.raises(UserError, match=told):
        parse_mapping([table])


def test_two_headings_and_a_file_in_another_order(empty_firm):
    empty_firm.write("team list.csv", "Order,Team\n7001,Red\n7002,Blue\n")
    empty_firm.write("fitted.csv", "Door,Job,Done\nA1,7002,2025-03-04\nA2,7001,2025-03-05\n")
    (empty_firm.folder / "fitback.toml").write_text(
        '[[sheet]]\nfile = "fitted.csv"\n[sheet.installs]\ninstall_id = "Door"\nfitted_on = "Done"\n'
        'crew = { look_up = "Team", in = "team*.csv", by = ["Job", "Order"], words = { "red" = "Red gang" } }\n'
    )
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, crew FROM installs ORDER BY ALL") == [("A1", "Blue"), ("A2", "Red gang")]


def test_forgetting_names_the_file_in_which_the_customer_was_looked_up(tmp_path):
    folder = tmp_path / "firm"
    folder.mkdir()
    (folder / "fitted.csv").write_text("Door,Job,Done,Team\nD1,J1,2024-03-04,Elm\nD2,J2,2024-03-05,Oak\n")
    (folder / "clients.csv").write_text("Job,Client\nJ1,Anna Example\nJ2,Ida Sample\n")
    (folder / "fitback.toml").write_text(
        '[[sheet]]\nfile = "fitted.csv"\n[sheet.installs]\ninstall_id = "Door"\nfitted_on = "Done"\ncrew = "Team"\n'
        'customer = { look_up = "Client", in = "clients.csv", by = "Job" }\n'
    )
    run_firm(folder, None, Silence())
    told = forget(folder, "Anna Example").stdout.splitlines()
    assert told[2:4] == ["  fitted.csv, row 2", "  clients.csv, in which these rows look it up"]
    assert json.loads(forget(folder, "Ida Sample", "--json").stdout)["looked_up_in"] == ["clients.csv"]
    run_firm(folder, None, Silence())
    assert people(output(folder), "SELECT DISTINCT customer FROM install_people") == [(None,)]


TYPES = [
    ["House type", "No. leaves", "Door width (cm)", "Door height (cm)"],
    ["The Alder", 3, 279, 211],
    ["The Larch", 2, 179, 210],
]
PLOTS = [["Plot / position", "House type", "Crew", "Fitted"]]
PLOTS += [[f"{plot} Lounge", ("The Alder", "The Larch")[plot % 2], "Elm", day(plot)] for plot in range(1, 6)]
SIZES = "SELECT install_id, leaves, width_mm, height_mm FROM installs ORDER BY 1 LIMIT 2"


def test_doors_take_sizes_and_leaves_from_a_list_of_their_types(empty_firm):
    in_one_book(empty_firm, TYPES, PLOTS)
    empty_firm.take_in()
    assert empty_firm.ask(SIZES) == [("1 Lounge", 2, 1790, 2100), ("2 Lounge", 3, 2790, 2110)]


def test_sizes_of_types_in_a_unit_that_nothing_says_are_left_to_a_person(empty_firm):
    types = [["House type", "No. leaves", "Door width", "Door height"], *TYPES[1:]]
    in_one_book(empty_firm, types, PLOTS)
    assert "look_up" not in (empty_firm.folder / "fitback.toml").read_text(encoding="utf-8")


def test_doors_with_sizes_of_their_own_take_none_from_their_type(empty_firm):
    plots = [[*PLOTS[0], "Width mm"], *([*row, 2800] for row in PLOTS[1:])]
    in_one_book(empty_firm, TYPES, plots)
    empty_firm.take_in()
    assert empty_firm.ask(SIZES) == [("1 Lounge", None, 2800, None), ("2 Lounge", None, 2800, None)]


def test_a_crew_that_stands_beside_the_doors_under_another_word_is_not_looked_up(empty_firm):
    doors = [[*DOORS[0], "Hung by", "Date hung"], *([*row, "Elm", day(3)] for row in DOORS[1:])]
    in_one_book(empty_firm, doors=doors)
    assert "crew = { look_up" not in (empty_firm.folder / "fitback.toml").read_text(encoding="utf-8")


def test_a_key_of_the_program_gives_way_to_the_number_by_which_people_know_the_job(empty_firm):
    jobs = [["job_id", "job_number", "crew_name", "install_date"]]
    jobs += [[5000 + at, f"J-{at}01", "Red", day(at)] for at in range(1, 6)]
    doors = [["door_id", "job_id", "width_mm"], *([900 + at, 5000 + at, 2400] for at in range(1, 6))]
    calls = [["ticket_id", "job_id", "opened_at", "description"]]
    calls += [[70 + at, 5000 + at, day(60 + at), "leaf drags on the sill"] for at in (1, 3)]
    for name, rows in (("jobs", jobs), ("doors", doors), ("tickets", calls)):
        write_sheets(empty_firm.folder / f"{name} export.xlsx", {"All": rows})
    match_all(empty_firm)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, job_no FROM installs ORDER BY 1")[:2] == [
        ("901", "J-101"),
        ("902", "J-201"),
    ]
    assert empty_firm.ask("SELECT callback_id, job_no FROM callbacks ORDER BY 1") == [("71", "J-101"), ("73", "J-301")]
