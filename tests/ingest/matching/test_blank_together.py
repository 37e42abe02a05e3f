"""What the doors of one job share is written once: blanks of several facts in the very same rows mean as above."""

import pytest

from tests.ingest.matching.test_match import day, matched, write_sheets

CREWS = ["Alpha", "Alpha", "Beta", "Alpha", "Beta", "Beta"]
SIZES = [1, 2, 1, 3, 2, 2]


def register(heads=("Project no.", "Client", "Installation team"), *, blank=("P", "C", "T"), apart=30, sizes=SIZES):
    """(rows of a register, by door its job, client and crew): what a job's doors share stands in the first row only."""
    rows, truth = [["Door ID", *heads, "Leaves", "Installed on"]], {}
    for job, (crew, count) in enumerate(zip(CREWS, sizes, strict=True)):
        whole = {"P": f"P{240 + job}", "C": f"Sample {job}", "T": crew}
        for n in range(count):
            shown = {key: None if n and key in blank else text for key, text in whole.items()}
            door = f"B{job}{n}"
            rows.append([door, *list(shown.values())[: len(heads)], 3, day(1 + apart * job + n)])
            truth[door] = tuple(whole.values())
    return rows, truth


def taken(firm, rows):
    write_sheets(firm.folder / "doors.xlsx", {"Doors": rows})
    text = matched(firm, "doors.xlsx").text
    firm.take_in()
    clients = dict(firm.people("SELECT install_id, customer FROM install_people"))
    doors = firm.ask("SELECT install_id, job_no, crew FROM installs")
    return text, {door: (job, clients.get(door), crew) for door, job, crew in doors}


@pytest.mark.parametrize("team", ["Installation team", "Crew", "Fitted by"])
def test_job_client_and_crew_that_are_blank_together_go_down(empty_firm, team):
    rows, truth = register(("Project no.", "Client", team))
    assert taken(empty_firm, rows)[1] == truth
    assert empty_firm.reasons() == []


def test_a_note_on_blanks_holds_for_the_job_as_for_what_is_blank_beside_it(empty_firm):
    rows, truth = register(("Job", "Client", "Who fitted"))
    assert taken(empty_firm, [["Doors fitted"], ["Blank = same as line above"], [], *rows])[1] == truth


@pytest.mark.parametrize("blank", [("P",), ("T",), ("C",)])
def test_one_fact_that_is_blank_alone_may_be_unknown(empty_firm, blank):
    text = taken(empty_firm, register(blank=blank)[0])[0]
    assert "fill_down" not in text


def test_few_blanks_in_one_place_may_be_unknown(empty_firm):
    text = taken(empty_firm, register(sizes=[1, 1, 1, 3, 1, 1])[0])[0]
    assert "fill_down" not in text


def test_doors_fitted_long_after_the_one_above_are_of_no_job_with_it(empty_firm):
    rows, _ = register()
    for n, row in enumerate(rows[1:]):
        row[-1] = day(1 + 60 * n)
    assert "fill_down" not in taken(empty_firm, rows)[0]


def test_jobs_that_are_written_again_show_that_a_blank_is_none(empty_firm):
    rows, _ = register()
    again = [["B90", "P245", "Sample 5", "Beta", 3, day(200)], ["B91", "P245", "Sample 5", "Beta", 3, day(201)]]
    assert "fill_down" not in taken(empty_firm, [*rows, *again])[0]


def test_a_job_and_its_crew_may_be_unknown_together_where_nothing_says_for_whom(empty_firm):
    rows, _ = register(("Project no.", "Client", "Installation team"), blank=("P", "T"))
    assert "fill_down" not in taken(empty_firm, [[one for at, one in enumerate(row) if at != 2] for row in rows])[0]


@pytest.mark.parametrize("column", [2, -1])
def test_another_customer_or_address_beside_the_blanks_shows_that_the_job_is_not_the_one_above(empty_firm, column):
    rows, _ = register(("Project no.", "Client", "Installation team"), blank=("P", "T"))
    rows = [[*row, "Address" if n == 0 else "1 Sample Street"] for n, row in enumerate(rows)]
    for n, row in enumerate(rows[1:]):
        row[column] = f"{row[column]} {n}"
    assert "fill_down" not in taken(empty_firm, rows)[0]
