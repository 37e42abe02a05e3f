"""Marks in the boxes of invented check sheets: read by all of them together, else set aside."""

import pytest

from pipeline.catalogue import load_catalogue
from pipeline.ingest.matching.columns.evidence import look_at
from pipeline.ingest.matching.words.box_marks import meanings
from pipeline.ingest.texts.words import outcome_words
from tests.ingest.matching.test_match import add_doors, matched, write_sheets

HEADS = ["Door", "End dams sealed", "Handles smooth", "Air temp"]


def outcomes(firm, *marks, over=()):
    """What a column of marks becomes, door by door; None for what is set aside."""
    doors = [f"M{n}" for n in range(len(marks))]
    add_doors(firm, doors)
    rows = [[door, mark, mark, 10 + n] for n, (door, mark) in enumerate(zip(doors, marks, strict=True))]
    write_sheets(firm.folder / "qa.xlsx", {"QA": [*([note] for note in over), HEADS, *rows]})
    matched(firm, "qa.xlsx")
    firm.take_in()
    found = dict(firm.ask("SELECT install_id, outcome FROM checks WHERE \"check\" = 'handles_smooth'"))
    return [found.get(door) for door in doors]


P, F = "pass", "fail"


@pytest.mark.parametrize(
    ("marks", "meant"),
    [
        (["S", "U", "S", "S"], [P, F, P, P]),
        (["\\", "X", "\\", "N/A"], [P, F, P, "not_applicable"]),
        (["R", "G", "A", "G"], [F, P, None, P]),
        (["Acc", "Rej", "Acc", "-"], [P, F, P, None]),
        (["✓", "✖", "√", "✓"], [P, F, P, P]),
        (["Satisfactory", "Needs attention", "Not applicable", "Satisfactory"], [P, F, "not_applicable", P]),
        (["All clear", "Snag", "All clear", "rectified"], [P, F, P, None]),
        (["O", "X", "O", "O"], [None, None, None, None]),
        (["Y", "-", "Y", "Y"], [P, None, P, P]),
        (["A", "A", "A", "A"], [None, None, None, None]),
        (["☑", "☐", "☑", "☒"], [P, None, P, None]),
    ],
)
def test_marks_are_read_by_all_of_them_together(marks, meant):
    catalogue = load_catalogue()
    told = meanings([marks, marks], catalogue, [])
    said, words = dict(told[0]) if told else {}, outcome_words(catalogue)
    assert [words.judge(said.get(mark.casefold(), mark))[0] for mark in marks] == meant


def test_a_column_of_marks_in_pairs_comes_in(empty_firm):
    assert outcomes(empty_firm, "A", "R", "A", "N/A") == [P, F, P, "not_applicable"]


def test_a_legend_of_the_sheet_says_what_its_marks_mean(empty_firm):
    over = ["Key: O = OK, X = defect, D = does not apply"]
    assert outcomes(empty_firm, "O", "X", "D", "O", over=over) == [P, F, "not_applicable", P]


def test_what_a_legend_says_twice_is_not_said():
    said = meanings([["o", "x", "o"]], load_catalogue(), ["O = OK", "O = not OK", "X = fail"])
    assert said == ((("x", "fail"),), "a note of the sheet says so")


def test_a_row_for_each_check_is_read_by_its_marks_as_well(empty_firm):
    add_doors(empty_firm, ["M1", "M2"])
    items = ("Beads seated leaf 1", "Locks operate", "Track clean")
    rows = [f"{door},{item},{mark}" for door in ("M1", "M2") for item, mark in zip(items, "CNC", strict=True)]
    rows = [row.replace(",N", ",NC") for row in rows]
    empty_firm.write("qc.csv", "\n".join(["Door,Check item,Result", *rows]))
    matched(empty_firm, "qc.csv")
    empty_firm.take_in()
    found = empty_firm.ask('SELECT DISTINCT "check", outcome FROM checks ORDER BY 1')
    assert found == [("beads_seated", P), ("locks_operate", F), ("track_clean", P)]


@pytest.mark.parametrize(
    ("heading", "said", "meant"),
    [
        ("Passed", [True, False, True, True], [P, F, P, P]),
        ("OK?", [True, True, False, True], [P, P, F, P]),
        # most boxes are as they were before anybody looked
        ("Passed", [False, False, True, False], [None, None, P, None]),
        # what was ticked is not said, so a box may have been left empty
        ("Outcome", [True, False, True, True], [P, None, P, P]),
    ],
)
def test_false_denies_what_the_heading_asks_of_each_check(empty_firm, heading, said, meant):
    doors = [f"M{n}" for n in range(len(said))]
    add_doors(empty_firm, doors)
    rows = [[door, "Handles smooth", one] for door, one in zip(doors, said, strict=True)]
    write_sheets(empty_firm.folder / "qa.xlsx", {"QA": [["Door", "Check", heading], *rows]})
    matched(empty_firm, "qa.xlsx")
    empty_firm.take_in()
    found = dict(empty_firm.ask("SELECT install_id, outcome FROM checks"))
    assert [found.get(door) for door in doors] == meant


def test_dashes_do_not_make_a_column_of_gaps_one_of_ticks(empty_firm):
    assert look_at(["-", "-", 4, "-", 5]).numbers == 1.0
    add_doors(empty_firm, ["M1", "M2", "M3"])
    rows = [["M1", 3, "-"], ["M2", 4, "–"], ["M3", 3.5, 5]]
    write_sheets(
        empty_firm.folder / "gaps.xlsx", {"G": [["Door", "Head gap leaf 1 hinge", "Head gap leaf 2 hinge"], *rows]}
    )
    matched(empty_firm, "gaps.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM readings") == [(4,)]
    assert empty_firm.set_aside() == []
    assert "2 cells hold a dash or n/a in place of a reading" in str(empty_firm.ask("SELECT reason FROM files"))


def test_cells_that_name_their_own_units(empty_firm):
    add_doors(empty_firm, ["M1", "M2", "M3", "M4", "M5"])
    heads = ["Door", "Leaf 1 head gap hinge", "Sill left", "Sill right"]
    cells = [("4mm", '1/8" low', 0), ('3/16"', 0, "2mm up"), (5, '1/16" high', 1), ("0.5cm", 0, '1/8"'), ("3 mm", 0, 0)]
    write_sheets(empty_firm.folder / "g.xlsx", {"G": [heads, *([f"M{n}", *row] for n, row in enumerate(cells, 1))]})
    matched(empty_firm, "g.xlsx")
    empty_firm.take_in()
    values = empty_firm.ask("SELECT measure, round(value, 4) FROM readings WHERE station <> 'right' ORDER BY 1, 2")
    gaps = [4.0, 4.7625, 5.0, 5.0, 3.0]
    assert values == [
        *(("head_gap", gap) for gap in sorted(gaps)),
        *(("sill_height", mm) for mm in (-3.175, 0, 0, 0, 1.5875)),
    ]
    right = empty_firm.ask("SELECT round(value, 4) FROM readings WHERE station = 'right' ORDER BY 1")
    assert right == [(0.0,), (0.0,), (2.0,), (3.175,)]
    # a bare 1 beside inches and millimetres may be either: it is told by its own heading and text
    assert [row[2:4] for row in empty_firm.set_aside()] == [("Sill right", "1")]


@pytest.mark.parametrize(
    ("cell", "outcome"),
    [
        ("Y - two coats", P),
        ("No, LH jamb", F),
        ("✓ MB", P),
        ("Fail: end cap left", F),
        ("OK (see photo 3)", P),
        ("Not done - rain", F),
        ("OK - not checked", None),
        ("Y - one leaf loose", None),
        ("N - fixed on site", None),
        ("P - pending", None),
        ("Pass (2nd)", None),
        ("Y/N", None),
        ("no go", None),
    ],
)
def test_an_answer_with_a_remark_behind_it(cell, outcome):
    words = outcome_words(load_catalogue())
    assert words.judge(cell)[0] == outcome
    if outcome:
        assert words.rule(cell).endswith(f"means {outcome}, with a remark")


def test_an_answer_in_doubt_is_none(empty_firm):
    assert outcomes(empty_firm, "ok?", "Y", "N", "Y", "yes??") == [None, P, F, P, None]


def test_answers_with_remarks_make_a_column_of_checks(empty_firm):
    assert outcomes(empty_firm, "Y - AB", "N (left end)", "Y", "Y, twice") == [P, F, P, P]
