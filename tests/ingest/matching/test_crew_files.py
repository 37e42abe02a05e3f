"""Several files, one for each crew, that say the crew in their names alone."""

import pytest

from pipeline.ingest.matching.match import match_files
from pipeline.ingest.matching.workbooks.crew_files import crew_names


def write(firm, name, first, n=6):
    rows = ["Door no,Product,Leaves,Width mm,Height mm,Date fitted,Handed over"]
    rows += [f"{first + at},BD60,3,{2400 + 10 * at},2100,2025-03-{at + 3:02},2025-03-{at + 4:02}" for at in range(n)]
    firm.write(name, "\n".join(rows) + "\n")


def matched(firm, *names):
    for at, name in enumerate(names):
        write(firm, name, 100 * (at + 1))
    return match_files(sorted(firm.folder.glob("*.csv")), is_terminal=False)


@pytest.mark.parametrize(
    ("names", "crews"),
    [
        (("doors Alder 2025.csv", "doors Birch 2025.csv"), ["Alder", "Birch"]),
        (("Van 1.csv", "Van 3.csv"), ["Van 1", "Van 3"]),
        (("Team A Jan.csv", "Team A Feb.csv", "Team B Jan.csv"), ["Team A", "Team B"]),
    ],
)
def test_the_names_of_files_say_their_crews(empty_firm, names, crews):
    """Before, none of their doors could be taken in: no column says the crew."""
    matched(empty_firm, *names)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT DISTINCT crew FROM installs ORDER BY 1") == [(crew,) for crew in crews]
    assert empty_firm.account("installs")[1] == 6 * len(names)


def test_it_is_said_why_and_the_next_file_of_the_kind_is_not_taken_for_the_same_crew(empty_firm):
    matched(empty_firm, "doors Alder 1.csv", "doors Birch 1.csv")
    text = (empty_firm.folder / "fitback.toml").read_text()
    assert 'file = "doors Alder 1.csv"' in text
    assert 'crew = { always = "Alder" }' in text
    assert "no column says the crew, and the name of the file does" in text


@pytest.mark.parametrize(
    "names",
    [
        ("doors January.csv", "doors February.csv"),
        ("doors retail.csv", "doors trade.csv"),
        ("Plot 1.csv", "Plot 2.csv"),
        ("doors Elm Close.csv", "doors Ash Road.csv"),
        ("doors Alder.csv",),
    ],
)
def test_names_of_something_else_are_left_to_a_person(empty_firm, names):
    told = matched(empty_firm, *names)
    assert all("installs" not in one.columns for file in told.matched for one in file.proposals)


def test_files_with_the_same_doors_are_stages_of_the_work(empty_firm):
    for name in ("Alder.csv", "Birch.csv"):
        write(empty_firm, name, 100)
    told = match_files(sorted(empty_firm.folder.glob("*.csv")), is_terminal=False)
    assert not any(file.proposals for file in told.matched)


def test_what_tells_names_apart():
    assert crew_names(["alder_doors_2025-03", "birch_doors_2025-03"]) == {
        "alder_doors_2025-03": "alder",
        "birch_doors_2025-03": "birch",
    }
    assert crew_names(["doors"]) == {"doors": ""}
    assert crew_names(["Janet March", "Marvin March"]) == {"Janet March": "Janet", "Marvin March": "Marvin"}
    numbered = ["Round 1 van 2", "Round 1 van 3", "Round 2 van 2"]
    assert list(crew_names(numbered).values()) == numbered
