"""A number that comes again and again is no key of callbacks, and is the job's where the list of doors knows it so."""

import pytest

from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.test_match import day, write_sheets

CASES = ["S-77", "S-80", "S-77", "S-81", "S-80", "S-77", "S-82", "S-83", "S-80", "S-81"]


def taken(firm, heading, numbers, of_doors="Case no."):
    """The callbacks of a log with such numbers beside a list of doors that have cases of their own."""
    doors = [[f"N{100 + n}", f"S-{77 + n}", "Elm", day(1 + n), 3] for n in range(8)]
    write_sheets(
        firm.folder / "doors.xlsx", {"D": [["Door no.", of_doors, "Fitted by", "Fitted on", "Leaves"], *doors]}
    )
    rows = [[day(40 + n), number, f"Sample {n}", f"leaf {n} drops", day(45 + n)] for n, number in enumerate(numbers)]
    write_sheets(
        firm.folder / "calls.xlsx", {"C": [["Complaint date", heading, "Customer", "Complaint", "Visit date"], *rows]}
    )
    match_files([firm.folder / "doors.xlsx", firm.folder / "calls.xlsx"], is_terminal=False)
    firm.take_in()
    return firm.ask("SELECT callback_id, job_no FROM callbacks ORDER BY reported_on")


@pytest.mark.parametrize("of_doors", ["Case no.", "Case", "Job no."])
@pytest.mark.parametrize("heading", ["Case no.", "Case ref", "Complaint no."])
def test_what_the_list_of_doors_calls_the_job_is_the_job_in_the_log(empty_firm, heading, of_doors):
    found = taken(empty_firm, heading, CASES, of_doors)
    assert [job for _, job in found] == CASES
    assert len({number for number, _ in found}) == len(CASES)
    assert empty_firm.ask("SELECT job_no FROM installs ORDER BY install_id") == [(f"S-{77 + n}",) for n in range(8)]
    assert empty_firm.reasons() == []


@pytest.mark.parametrize("heading", ["Case no.", "Ticket", "Complaint ref"])
def test_what_repeats_and_nobody_knows_sets_no_callback_aside(empty_firm, heading):
    numbers = [case.replace("S", "K") for case in CASES]
    found = taken(empty_firm, heading, numbers)
    assert [job for _, job in found] == [None] * len(CASES)
    assert empty_firm.reasons() == []


def test_what_stands_once_numbers_the_callbacks_beside_the_cases_of_doors(empty_firm):
    numbers = [f"K{n + 1}" for n in range(10)]
    found = taken(empty_firm, "Case no.", numbers)
    assert found == [(number, None) for number in numbers]


def test_what_a_door_is_made_of_is_no_number_of_its_case(empty_firm):
    doors = [[f"N{n}", ["oak", "pine"][n % 2], "Elm", day(n), 3] for n in range(1, 9)]
    heads = ["Door no.", "Case", "Fitted by", "Fitted on", "Leaves"]
    write_sheets(empty_firm.folder / "doors.xlsx", {"D": [heads, *doors]})
    match_files([empty_firm.folder / "doors.xlsx"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT DISTINCT job_no FROM installs") == [(None,)]
