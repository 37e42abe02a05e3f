"""Crews that doors know by number and another table by name, as tables of a small database do."""

import re

import pytest

from pipeline.ingest.matching.match import match_files

DOORS = ["DoorID,FitterID,Product,Leaves,Width mm,Height mm,FitDate"]
DOORS += [
    f"{5000 + number},{1 + number % 3},BD60,3,{2400 + 10 * number},2100,2025-03-{number + 1:02}" for number in range(12)
]
NAMES = {"1": "Sefa", "2": "Orla", "3": "Nell"}


def taken(firm, fitters, doors=DOORS):
    firm.write("tblDoors.csv", "\n".join(doors) + "\n")
    firm.write("tblFitters.csv", "\n".join(fitters) + "\n")
    match_files(sorted(firm.folder.glob("tbl*.csv")), is_terminal=False)
    return firm.take_in()


@pytest.mark.parametrize(
    "fitters",
    [
        ["FitterID,FitterName,StartDate", "1,Sefa,2018-04-03", "2,Orla,2019-04-04", "3,Nell,2020-04-05"],
        ["FitterID,FitterName", "1,Sefa", "2,Orla", "3,Nell"],
        ["FitterName,FitterID", "Sefa,1.0", "Orla,2.0", "Nell,3.0"],
    ],
)
def test_a_table_that_lists_number_and_name_joins_them(empty_firm, fitters):
    """Before, every door was set aside: no crew 1 in crews."""
    intake = taken(empty_firm, fitters)
    assert empty_firm.account("installs") == (12, 12, 0, 0)
    assert empty_firm.ask("SELECT DISTINCT crew FROM installs ORDER BY 1") == [("Nell",), ("Orla",), ("Sefa",)]
    assert empty_firm.ask("SELECT crew FROM installs WHERE install_id = '5001'") == [("Orla",)]
    assert any("Crews written in more than one way are taken as one: 1 as Sefa" in note for note in intake.notes)


def test_customers_with_numbers_of_their_own_are_no_crews(empty_firm):
    fitters = ["CustomerID,Name", *(f"{200 + number},N. Example {number}" for number in range(12))]
    taken(empty_firm, fitters)
    assert empty_firm.ask("FROM crews") == []
    assert empty_firm.account("installs") == (12, 12, 0, 0)


def test_a_column_that_counts_the_lines_numbers_no_crews(empty_firm):
    doors = DOORS[:1] + [re.sub(r",(\d)", lambda found: f",{NAMES[found[1]]}", row, count=1) for row in DOORS[1:]]
    taken(empty_firm, ["No,Fitter,Start date", "1,Orla,2018-04-03", "2,Sefa,2019-04-04", "3,Nell,2020-04-05"], doors)
    assert empty_firm.ask("SELECT crew, crew_no FROM crews ORDER BY 1") == [
        ("Nell", None),
        ("Orla", None),
        ("Sefa", None),
    ]


def in_our_form(firm, crews):
    firm.write("crews.csv", crews)
    firm.write("installs.csv", "install_id,crew,fitted_on\nD1,7,2025-01-10\nD2,Ash,2025-01-10\nD3,T-07,2025-01-11\n")
    firm.take_in()
    return firm.ask("SELECT install_id, crew FROM installs ORDER BY 1")


def test_in_files_of_our_own_form_the_number_stands_in_crew_no(empty_firm):
    assert in_our_form(empty_firm, "crew,crew_no\nAsh,5\nElm,7\n") == [("D1", "Elm"), ("D2", "Ash")]


def test_a_number_that_is_a_crew_s_name_is_that_crew(empty_firm):
    assert in_our_form(empty_firm, "crew,crew_no\nAsh,7\n7,5\n") == [("D1", "7"), ("D2", "Ash")]


def test_a_number_of_two_crews_is_neither(empty_firm):
    assert in_our_form(empty_firm, "crew,crew_no\nAsh,7\nElm,7\n") == [("D2", "Ash")]


def test_a_number_may_be_written_otherwise_as_names_may(empty_firm):
    assert in_our_form(empty_firm, "crew,crew_no\nAsh,5\nElm,T7\nOak,7\n") == [
        ("D1", "Oak"),
        ("D2", "Ash"),
        ("D3", "Elm"),
    ]


@pytest.mark.parametrize("crew", ["Gang {}", "{}"])
def test_beside_its_members_a_crew_keeps_its_own_name(empty_firm, crew):
    """Before, the two people in it stood for the crew: its trainings and its doors were theirs."""
    doors = ["Door,Crew,Product,Leaves,Width mm,Height mm,Fitted"]
    doors += [
        f"D{number},{crew.format(1 + number % 3)},BD60,3,{2400 + 10 * number},2100,2025-03-{number + 1:02}"
        for number in range(12)
    ]
    people = ["Sefa and Jan", "Orla and Wim", "Nell and Ute"]
    crews = ["Crew,Members,Started", *(f"{crew.format(n)},{who},2018-04-0{n}" for n, who in enumerate(people, 1))]
    taken(empty_firm, crews, doors)
    names = [(crew.format(n),) for n in (1, 2, 3)]
    assert empty_firm.ask("SELECT DISTINCT crew FROM installs ORDER BY 1") == names
    assert empty_firm.ask("SELECT crew FROM crews ORDER BY 1") == names


@pytest.mark.parametrize("first", [[], ["No"]])
def test_a_log_of_trainings_is_no_log_of_callbacks(empty_firm, first):
    head = ",".join([*first, "Crew", "Trained in", "Date", "Hours", "Place"])
    steps = ["Bedding the sill", "Hanging", "Glazing", "Sealing", "Fixing the frame"]
    rows = [
        ",".join([*(str(n) for _ in first), f"Gang {n}", step, f"2025-05-0{n}", "3.5", "yard" if n % 2 else "site"])
        for n, step in enumerate(steps, 1)
    ]
    empty_firm.write("toolbox.csv", "\n".join([head, *rows]) + "\n")
    empty_firm.write("installs.csv", "install_id,crew,fitted_on\nD1,Gang 1,2025-01-10\n")
    match_files([empty_firm.folder / "toolbox.csv"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.ask("FROM callbacks") == []
    assert empty_firm.ask("SELECT crew, step, hours FROM training ORDER BY 1") == [
        ("Gang 1", "sill", 3.5),
        ("Gang 2", "hanging", 3.5),
        ("Gang 3", "glazing", 3.5),
        ("Gang 4", "sealing", 3.5),
        ("Gang 5", "frame", 3.5),
    ]
