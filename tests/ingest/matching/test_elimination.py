"""Columns with headings that no vocabulary knows: found where only one can be meant, left to a person otherwise.

Headings are invented; how registers look is common practice, no source.
"""

import pytest

from pipeline.ingest.matching.match import match_files
from pipeline.ingest.matching.words.meaning import column_likeness, reading_meaning
from tests.ingest.conftest import Firm

HEAD = ["Sparkle", "Van", "Twinkle", "W (mm)", "H (mm)", "Leaves", "Handed over"]
ROWS = [
    ["BF1", "Van 1", "2025-02-03", "3000", "2100", "3", "2025-02-05"],
    ["BF2", "Van 2", "2025-02-13", "3200", "2100", "4", "2025-02-14"],
    ["BF3", "Van 1", "2025-03-01", "3300", "2150", "4", "2025-03-04"],
    ["BF4", "Van 2", "2025-03-11", "2900", "2050", "3", "2025-03-11"],
    ["BF5", "Van 1", "2025-03-21", "2950", "2090", "3", "2025-03-25"],
]


def matched(firm: Firm, head: list[str], rows: list[list[str]]) -> list[str]:
    firm.write("Register.csv", "\n".join(",".join(row) for row in [head, *rows]))
    return match_files([firm.folder / "Register.csv"], is_terminal=False).sentences


def test_number_and_day_are_found_where_only_one_column_can_be_each(empty_firm: Firm) -> None:
    matched(empty_firm, HEAD, ROWS)
    empty_firm.take_in()
    found = empty_firm.ask("SELECT install_id, crew, fitted_on::TEXT FROM installs ORDER BY 1")
    assert found == [(row[0], row[1], row[2]) for row in ROWS]


def test_crews_that_say_so_are_found(empty_firm: Firm) -> None:
    matched(empty_firm, ["Door no", "Glimmer", "Fitted", *HEAD[3:]], ROWS)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT DISTINCT crew FROM installs ORDER BY 1") == [("Van 1",), ("Van 2",)]


@pytest.mark.parametrize("more", ["2025-01-30", "2025-02-01"])
def test_of_two_days_that_may_be_meant_none_is(empty_firm: Firm, more: str) -> None:
    rows = [[*row, min(more, row[2])] for row in ROWS]
    said = matched(empty_firm, [*HEAD, "Glimmer"], rows)
    assert any("no column is fitted_on" in line for line in said)


def test_a_day_against_the_order_of_the_work_is_not_taken(empty_firm: Firm) -> None:
    rows = [[*row[:2], "2025-06-01", *row[3:]] for row in ROWS]
    assert any("no column is fitted_on" in line for line in matched(empty_firm, HEAD, rows))


def test_an_invoice_number_is_no_number_of_doors(empty_firm: Firm) -> None:
    said = matched(empty_firm, ["Invoice no", *HEAD[1:]], ROWS)
    assert any("no column is install_id" in line for line in said)


def test_a_heading_with_a_currency_is_an_amount() -> None:
    assert column_likeness("installs", "job_no", "Contract £") == 0.0
    assert column_likeness("callbacks", "cost", "Cost £") == 1.0


def test_a_reading_under_the_name_of_another_takes_no_place_from_it() -> None:
    meaning = reading_meaning("Bottom gap P4 / Running force")
    assert meaning is not None
    assert (meaning.name, meaning.place.member, meaning.place.station) == ("running_force", "", "")


@pytest.mark.parametrize("who", ["Fitter initials", "Installer on the day", "Fitting outfit"])
@pytest.mark.parametrize("day", ["Fixing day planned", "Wk hung", "Install slot"])
def test_crew_and_day_are_found_by_a_word_of_a_heading_not_understood(empty_firm: Firm, who: str, day: str) -> None:
    rows = [[*row[:1], ["DK", "Bo & Al"][number % 2], *row[2:], "2025-06-30"] for number, row in enumerate(ROWS)]
    matched(empty_firm, ["Door no", who, day, *HEAD[3:6], "Handed over", "Legal day"], rows)
    empty_firm.take_in()
    found = empty_firm.ask("SELECT install_id, crew, fitted_on::TEXT FROM installs ORDER BY 1")
    assert found == [(row[0], row[1], row[2]) for row in rows]


@pytest.mark.parametrize(
    ("who", "cells"),
    [
        pytest.param("Fitter's signature seen", ["Y", "N"], id="answers"),
        pytest.param("Fitter pay band", ["a1", "b2"], id="pay"),
        pytest.param("Crew strength", ["2", "3"], id="amounts"),
        pytest.param("Fitter thoughts", [f"went well, door {n} stiff" for n in range(5)], id="sentences"),
    ],
)
def test_a_heading_with_a_word_for_the_crew_that_is_not_who_is_left(
    empty_firm: Firm, who: str, cells: list[str]
) -> None:
    rows = [[row[0], f'"{cells[number % len(cells)]}"', *row[2:]] for number, row in enumerate(ROWS)]
    said = matched(empty_firm, ["Door no", who, "Fitted", *HEAD[3:]], rows)
    assert any("no column is crew" in line for line in said)


def test_of_two_columns_with_a_word_for_the_crew_none_is_taken(empty_firm: Firm) -> None:
    rows = [[*row, ["Eve", "Ada"][number % 2]] for number, row in enumerate(ROWS)]
    rows = [[row[0], ["DK", "BA"][number % 2], *row[2:]] for number, row in enumerate(rows)]
    said = matched(empty_firm, ["Door no", "Fitter light", "Fitted", *HEAD[3:], "Fitter shadow"], rows)
    assert any("no column is crew" in line for line in said)


def test_the_day_of_the_contract_is_not_that_of_fitting(empty_firm):
    rows = [f"N{n},1{n}/01/2025,2{n}/02/2025,1{n}/03/2025,2{n}/03/2025,Oak,3{n}00,2100" for n in range(1, 6)]
    empty_firm.write("jobs.csv", "\n".join(["Door no,Contract date,Start,Finish,Walk-thru,Crew,W,H", *rows]))
    match_files([empty_firm.folder / "jobs.csv"], is_terminal=False)
    empty_firm.take_in()
    found = empty_firm.ask("SELECT fitted_on::TEXT, handed_over_on::TEXT FROM installs WHERE install_id = 'N2'")
    assert found == [("2025-03-12", "2025-03-22")]


def test_sentences_under_fault_are_what_was_said_and_no_responsibility(empty_firm):
    texts = ["door drags at the head", "rain runs in at the left", "key will not turn at all", "leaf hits the frame"]
    rows = [f"1{n}/03/2025,N{n},Ms {n},{text},eased the leaf {n},1.5" for n, text in enumerate(texts)]
    empty_firm.write(
        "installs.csv", "install_id,crew,fitted_on\n" + "".join(f"N{n},Oak,2025-01-1{n}\n" for n in range(4))
    )
    empty_firm.write("calls.csv", "\n".join(["Date,Door,Customer,Fault,Action,Hrs", *rows]))
    match_files([empty_firm.folder / "calls.csv"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT DISTINCT responsibility FROM callbacks") == [(None,)]
    assert sorted(note for (note,) in empty_firm.people("SELECT note FROM callback_rows")) == sorted(texts)


def test_the_only_sentences_of_a_log_are_what_was_said_and_two_columns_of_them_are_left(empty_firm: Firm) -> None:
    said = ["drags over the sill now", "lock is hard to turn", "rain comes in at night", "handle hangs down loose"]
    rows = [[f"2025-06-0{n}", f"A. Nobody{n}", text, f"2025-06-1{n}"] for n, text in enumerate(said, start=1)]
    log = [["Date rang", "Customer", "Rumour / verdict", "Attended"], *rows]
    empty_firm.write("calls.csv", "\n".join(",".join(row) for row in log))
    files = [empty_firm.folder / "calls.csv"]
    (one,) = match_files(files, is_terminal=False).matched
    assert one.proposals[0].columns["callbacks"]["note"].heading == "Rumour / verdict"
    log = [[*row, f"{row[2]} too"] for row in log]
    empty_firm.write("calls.csv", "\n".join(",".join(row) for row in log))
    (one,) = match_files(files, is_terminal=False).matched
    assert one.proposals == []


def test_a_gap_of_no_leaf_beside_gaps_round_the_frame_is_left_to_a_person(empty_firm: Firm) -> None:
    heads = ["Door no", "Team", "Fitted", "Wall gap left jamb", "Wall gap right jamb"]
    rows = [[f"D{n}", "Van 1", f"2025-02-0{n}", "6", "7", "4"] for n in range(1, 5)]
    for gap in ("Head gap", "Gap over head"):
        matched(empty_firm, [*heads, gap], rows)
        empty_firm.take_in()
        assert empty_firm.ask("SELECT DISTINCT measure FROM readings") == [("perimeter_gap",)]


POINTS = [("Sill level", "left", "0"), ("Sill level", "right", "1"), ("Frame diagonal", "rising", "3661")]


def test_a_job_whose_many_rows_all_say_the_same_is_a_door(empty_firm: Firm) -> None:
    head = ["Job", "Crew", "Fitted", "Width", "Height", "Point", "Position", "Reading mm"]
    doors = [("K1", "Van 1", "2025-02-03", "3000", "2100"), ("K2", "Van 2", "2025-02-13", "3200", "2100")]
    matched(empty_firm, head, [[*door, *point] for door in doors for point in POINTS])
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, width_mm FROM installs ORDER BY 1") == [("K1", 3000), ("K2", 3200)]
    assert empty_firm.ask("SELECT count(*) FROM readings") == [(6,)]


def test_a_list_of_readings_is_no_training(empty_firm: Firm) -> None:
    """Where it does not say which job is which door, it makes no record at all."""
    head = ["Job", "Crew", "Fitted", "Point", "Position", "Reading mm"]
    rows = [[job, "Van 1", "2025-02-03", *point] for job in ("K1", "K2") for point in POINTS]
    assert any("no column is install_id" in line for line in matched(empty_firm, head, rows))
