"""Short headings of a fitters' office whose cells say what they are. All invented; common practice, no source."""

import pytest

from pipeline.ingest.matching.words.meaning import SURE, likeness_under, reading_meaning
from tests.ingest.matching.test_match import day, matched, write_sheets

HEADS = ["Job No", "Crew", "Date", "Doors", "W", "H", "Level?", "Diags same?"]


def take(firm, rows):
    write_sheets(firm.folder / "doors.xlsx", {"Doors": [HEADS, *rows]})
    one = matched(firm, "doors.xlsx")
    firm.take_in()
    return one


def rows(doors, levels):
    cells = zip(doors, levels, strict=True)
    return [[20400 + 7 * n, "Elm", day(n), leaf, 3000, 2100, level, "3mm"] for n, (leaf, level) in enumerate(cells)]


def test_doors_of_so_many_leaves_are_counts_of_leaves_and_number_no_door(empty_firm):
    take(empty_firm, rows(["3 leaf", "4 leaf", "3 leaf", "5 panels", "4 leaf"], ["ok", "3 L", "ok", "2 R", "1 L"]))
    found = empty_firm.ask("SELECT install_id, leaves FROM installs ORDER BY 1")
    assert found == [("20400", 3), ("20407", 4), ("20414", 3), ("20421", 5), ("20428", 4)]


def test_a_level_whose_cells_say_which_end_is_low_is_the_sills_and_no_storey(empty_firm):
    take(empty_firm, rows(["3 leaf", "4 leaf", "3 leaf"], ["ok", "3 L", "2 R"]))
    assert empty_firm.ask("SELECT DISTINCT storey FROM installs") == [(None,)]
    assert empty_firm.ask("SELECT install_id, station, value FROM readings WHERE value <> 0 ORDER BY ALL") == [
        ("20407", "left", -3.0),
        ("20414", "right", -2.0),
    ]


def test_a_level_of_floors_is_the_storey(empty_firm):
    take(empty_firm, rows(["3 leaf", "4 leaf", "3 leaf"], ["ground", "first", "ground"]))
    assert empty_firm.ask("SELECT DISTINCT storey FROM installs ORDER BY 1") == [("first",), ("ground",)]


def test_whether_diagonals_are_the_same_is_no_length_of_one(empty_firm):
    assert reading_meaning("Diags same?") is None
    take(empty_firm, rows(["3 leaf", "4 leaf", "3 leaf"], ["ok", "ok", "ok"]))
    assert empty_firm.ask("SELECT count(*) FROM readings WHERE measure = 'frame_diagonal'") == [(0,)]


@pytest.mark.parametrize("heading", ["Problem / visits", "Problem / action taken", "Details / notes"])
def test_a_column_of_what_was_said_may_name_two_things(heading):
    assert likeness_under("callbacks", "note", heading) >= SURE
