"""The review sheet: what it lists, that it is safe to open, and that what a person writes into it wins."""

import openpyxl
import pytest

INSTALLS = """
install_id,job_no,crew,fitted_on,handed_over_on,customer,address,postcode
D1,1041,Alder,2025-01-10,2025-01-12,Anna Example,12 Elm Road,ZZ1 1EX
D2,1042,Birch,2025-02-10,2025-02-12,Carol Invent,9 Oak Close,ZZ3 3EX
D3,1043,Birch,2025-02-10,2025-02-12,Carol Invent,9 Oak Close,ZZ3 3EX
"""
CALLBACKS = """
callback_id,customer,address,postcode,reported_on,note
C1,Carol Invent,9 Oak Close,ZZ3 3EX,2025-06-01,=1+1
"""


@pytest.fixture
def reviewed(empty_firm):
    empty_firm.write("installs.csv", INSTALLS)
    empty_firm.write("callbacks.csv", CALLBACKS)
    return empty_firm


def sheet(firm):
    return openpyxl.load_workbook(firm.out / "links_to_review.xlsx")


def fill(firm, answer, row=2):
    book = sheet(firm)
    book["links"].cell(row, 2).value = answer
    book.save(firm.out / "links_to_review.xlsx")


def test_the_sheet_lists_both_doors_of_the_house_with_names_and_runs_no_formula(reviewed):
    notes = reviewed.take_in().notes
    rows = [dict(zip([c.value for c in sheet(reviewed)["links"][1]], [c.value for c in row], strict=True))
            for row in list(sheet(reviewed)["links"].rows)[1:]]  # fmt: skip
    assert [(row["possible_door"], row["probability"] > 0.4, row["door_customer"]) for row in rows] == [
        ("D2", True, "Carol Invent"),
        ("D3", True, "Carol Invent"),
    ]
    assert rows[0]["note"] == "'=1+1"
    assert any("links_to_review.xlsx" in note for note in notes)


def test_every_run_tells_what_still_waits_until_it_is_decided(reviewed):
    waits = "1 callback has no sure door; decide in links_to_review.xlsx, beside the results, and run again."
    assert [reviewed.take_in().notes.count(waits) for _ in range(2)] == [1, 1]
    fill(reviewed, "D3")
    assert waits not in reviewed.take_in().notes


def test_a_door_written_by_a_person_wins_and_stays_when_the_sheet_is_gone(reviewed):
    reviewed.take_in()
    fill(reviewed, "D3")
    for _ in range(2):
        reviewed.take_in()
        assert reviewed.ask("SELECT callback_id, install_id, probability, is_reviewed FROM callback_matches") == [
            ("C1", "D3", 1.0, True)
        ]
        assert not (reviewed.out / "links_to_review.xlsx").exists()
    assert reviewed.ask("FROM link_candidates") == []


def test_none_says_that_it_is_no_door_of_ours(reviewed):
    reviewed.take_in()
    fill(reviewed, "None", row=3)
    reviewed.take_in()
    assert reviewed.ask("SELECT install_id, is_reviewed FROM callback_matches") == [(None, True)]
    assert reviewed.ask("FROM link_candidates") == []


def test_a_door_that_is_not_on_record_is_told_with_its_row_and_changes_nothing(reviewed):
    reviewed.take_in()
    fill(reviewed, "D9")
    notes = reviewed.take_in().notes
    assert (
        "links_to_review.xlsx, row 2, install_id: D9 is no door on record; write one of its possible doors, or none."
        in notes
    )
    assert reviewed.ask("FROM link_reviews") == []


def test_a_sheet_that_was_taken_away_is_written_again_and_a_filled_one_is_not_overwritten_unread(reviewed):
    reviewed.take_in()
    (reviewed.out / "links_to_review.xlsx").unlink()
    reviewed.take_in()
    fill(reviewed, "D9")
    reviewed.take_in()
    assert sheet(reviewed)["links"].cell(2, 2).value == "D9"


def test_a_sheet_that_is_no_workbook_is_told_and_left(reviewed):
    reviewed.take_in()
    (reviewed.out / "links_to_review.xlsx").write_bytes(b"not a workbook")
    notes = reviewed.take_in().notes
    assert [note for note in notes if note.startswith("links_to_review.xlsx cannot be read")]
