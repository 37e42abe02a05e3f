"""A column called Door that holds what kind each is, beside the numbers of doors or jobs.

All invented; how such lists look is common practice, no source.
"""

import pytest

from tests.ingest.matching.test_match import day, matched, write_sheets

SOLD = ["Harbour", "Harbour wide", "Cliff", "Harbour", "Cliff", "Cliff wide", "Harbour"]


def taken_in(firm, headings, first):
    rows = [[f"J{40 + n}", *one, "Elm", day(n), 3, 2400, 2100] for n, one in enumerate(first, 1)]
    head = [*headings, "Crew", "Fitted", "Leaves", "Width mm", "Height mm"]
    calls = [
        ["Reported", "Job no", "Complaint"],
        [day(20), "J41", "leaks at the sill"],
        [day(21), "J43", "stiff to run"],
    ]
    write_sheets(firm.folder / "book.xlsx", {"Doors": [head, *rows], "Calls": calls})
    matched(firm, "book.xlsx")
    firm.take_in()
    linked = firm.ask("SELECT coalesce(install_id, job_no) FROM callbacks ORDER BY reported_on")
    assert linked == [("J41",), ("J43",)]
    return firm.ask("SELECT install_id, product FROM installs ORDER BY install_id")


@pytest.mark.parametrize("door", ["Door", "Door type"])
def test_kinds_of_door_are_the_products_and_the_job_is_the_door(empty_firm, door):
    found = taken_in(empty_firm, ["Job no", door], [[one] for one in SOLD])
    assert found == [(f"J{40 + n}", one) for n, one in enumerate(SOLD, 1)]


def test_where_in_the_house_a_door_is_is_no_product(empty_firm):
    places = ["kitchen", "rear", "kitchen", "garden room", "rear", "kitchen", "side"]
    found = taken_in(empty_firm, ["Job no", "Door"], [[one] for one in places])
    assert found == [(f"J{40 + n}", None) for n in range(1, 8)]


def test_doors_that_are_named_once_each_are_known_by_their_names(empty_firm):
    names = ["Ash", "Beech", "Cedar", "Elder", "Fir", "Gorse", "Hazel"]
    found = taken_in(empty_firm, ["Job no", "Door"], [[one] for one in names])
    assert found == [(one, None) for one in names]
