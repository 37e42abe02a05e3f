"""Headings that list the answers under them. All invented."""

import pytest

from pipeline.ingest.matching.words.listed_answers import listed_in, listed_letters, lists_its_cells
from tests.ingest.matching.test_match import add_doors, day, matched, write_sheets

FOUND = "SELECT DISTINCT responsibility FROM callbacks ORDER BY 1"


def log(firm, heading, cells):
    add_doors(firm, ["D1", "D2"])
    rows = [["Phoned", "Door", "What they said", "Went", heading, "Cost"]]
    for number, cell in enumerate([*cells, *cells], start=1):
        rows.append(
            [day(number), f"D{1 + number % 2}", "the end door drops and will not lock", day(number + 2), cell, 85]
        )
    write_sheets(firm.folder / "calls.xlsx", {"Calls": rows})
    matched(firm, "calls.xlsx")
    firm.take_in()


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("Our fault / maker / wear", ["our fault", "maker", "wear"]),
        ("Us, manufacturer or wear & tear?", ["Us", "Manufacturer", "Wear & tear"]),
        ("Whose? (us / maker / wear)", ["us", "maker", "wear"]),
        ("Fitting/product/wear", ["F", "P", "W"]),
        ("Ours | supplier | wear | other", ["ours", "supplier", "wear"]),
    ],
)
def test_a_heading_that_lists_whose_fault_it_can_be(empty_firm, heading, cells):
    log(empty_firm, heading, cells)
    assert empty_firm.ask(FOUND) == [("installation",), ("product",), ("wear",)]
    assert empty_firm.reasons() == []


def test_answers_that_the_heading_does_not_list_make_it_no_such_column(empty_firm):
    log(empty_firm, "Our part / maker", ["12", "rang twice", "A4"])
    assert len(empty_firm.ask(FOUND)) == 1
    assert '["Our part / maker"]' in (empty_firm.folder / "fitback.toml").read_text(encoding="utf-8")


def test_letters_that_two_answers_begin_with_are_short_for_none():
    assert listed_letters("responsibility", "Fitting / factory / wear", frozenset({"f", "w"})) == ()
    assert not lists_its_cells("responsibility", "Fitting / factory / wear", frozenset({"f", "w"}))


def test_letters_may_be_short_for_a_part_of_the_heading_that_nobody_understands():
    assert listed_letters("responsibility", "Fitting / freak / wear", frozenset({"f", "w"})) == ()
    assert listed_letters("responsibility", "Fitting / product / zzz", frozenset({"f", "p"})) == (
        ("f", "installation"),
        ("p", "product"),
    )


@pytest.mark.parametrize("heading", ["Fault / cause", "Cost / labour", "Maker", "Date / by / maker / us / notes"])
def test_a_heading_of_other_words_lists_no_answers(heading):
    assert listed_in("responsibility", heading) == ()


def test_a_list_of_two_columns_words_is_neithers():
    assert not lists_its_cells("fault", "Glass / hardware", frozenset({"glass", "hardware"}))


def test_materials_listed_over_a_register(empty_firm):
    rows = [["Job", "Crew", "Fitted", "Timber / alu / upvc", "Width mm", "Height mm"]]
    frames = ["timber", "alu", "upvc"] * 2
    rows += [[f"G-{n}", "Elm", day(n), frame, 3000, 2100] for n, frame in enumerate(frames, start=1)]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    found = empty_firm.ask("SELECT DISTINCT material FROM installs ORDER BY 1")
    assert found == [("aluminium",), ("pvc-u",), ("timber",)]
