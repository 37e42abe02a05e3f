"""Columns that count the other way than readings do here, as headings and notes of invented sheets say it."""

import pytest

from pipeline.errors import UserError
from pipeline.ingest.declared.mapping_tables import parse_mapping
from pipeline.ingest.matching.words.signs import turned_by_notes, without_sign
from tests.ingest.matching.test_match import add_doors, matched, write_sheets

HEADS = ["Door", "Cill lvl LH (dip is +)", "Cill lvl RH (dip is +)", "Left jamb face btm (+ = out)"]


def values(firm):
    return firm.ask("SELECT measure, station, value FROM readings ORDER BY ALL")


def test_a_heading_says_that_plus_is_down(empty_firm):
    add_doors(empty_firm, ["T1", "T2"])
    rows = [["T1", 2, -1, 3], ["T2", 0, "1.5 high", -2]]
    write_sheets(empty_firm.folder / "levels.xlsx", {"Levels": [HEADS, *rows]})
    assert matched(empty_firm, "levels.xlsx").n_placed == 4
    assert (empty_firm.folder / "fitback.toml").read_text().count('sign = "-"') == 2
    empty_firm.take_in()
    assert values(empty_firm) == [
        ("jamb_face", "bottom", -2.0), ("jamb_face", "bottom", 3.0), ("sill_height", "left", -2.0),
        ("sill_height", "left", 0.0), ("sill_height", "right", 1.0), ("sill_height", "right", 1.5),
    ]  # fmt: skip
    (raw,) = empty_firm.ask("SELECT raw FROM readings_history WHERE value = 1.0")[0]
    assert '"value":"-1"' in raw
    assert "plus and minus are exchanged in its column" in raw


def test_a_note_over_the_table_says_it_for_its_measure_alone(empty_firm):
    add_doors(empty_firm, ["T1", "T2"])
    heads = ["Door", "Sill left", "Sill right", "RH jamb in/out top"]
    sheet = [["Readings of May - sill: minus = high"], heads, ["T1", 2, -1, 3], ["T2", 1, 0, -2]]
    write_sheets(empty_firm.folder / "levels.xlsx", {"Levels": sheet})
    matched(empty_firm, "levels.xlsx")
    empty_firm.take_in()
    assert [row for row in values(empty_firm) if row[0] == "sill_height"] == [
        ("sill_height", "left", -2.0), ("sill_height", "left", -1.0), ("sill_height", "right", 0.0),
        ("sill_height", "right", 1.0),
    ]  # fmt: skip
    assert {row[2] for row in values(empty_firm) if row[0] == "jamb_face"} == {3.0, -2.0}


def test_a_column_of_values_whose_plus_is_the_other_way(empty_firm):
    add_doors(empty_firm, ["T1", "T2", "T3"])
    rows = ["T1,Sill left,2,mm", "T1,Sill right,-1,mm", "T2,Leaf 1 head gap hinge,4,mm", "T3,Sill right,0,mm"]
    empty_firm.write("log.csv", "\n".join(["Door,What measured,Reading (+ = low),Units", *rows]))
    matched(empty_firm, "log.csv")
    empty_firm.take_in()
    assert values(empty_firm) == [
        ("head_gap", "hinge", 4.0), ("sill_height", "left", -2.0), ("sill_height", "right", 0.0),
        ("sill_height", "right", 1.0),
    ]  # fmt: skip


def test_how_deep_a_sill_dips_is_minus_where_no_number_has_one(empty_firm):
    add_doors(empty_firm, ["T1", "T2"])
    rows = [["Door", "Sill dip centre", "Air temp"], ["T1", 2, 12], ["T2", 0.5, 9]]
    write_sheets(empty_firm.folder / "d.xlsx", {"D": rows})
    matched(empty_firm, "d.xlsx")
    empty_firm.take_in()
    assert values(empty_firm)[:2] == [("sill_height", "centre", -2.0), ("sill_height", "centre", -0.5)]


@pytest.mark.parametrize(
    ("heading", "left", "plus"),
    [("Sill 900 (mm, up = +)", "Sill 900 (mm)", "up"), ("Cill left (+ = needs packing up)", "Cill left", "packing"),
     ("Sill (mm, + is the low side)", "Sill (mm)", "low"), ("Jamb L negative = in", "Jamb L", "out"),
     ("Labour plus parts", "Labour plus parts", ""), ("Lean, plus is towards the outside", "Lean", "outside")],
)  # fmt: skip
def test_what_a_heading_says_of_plus(heading, left, plus):
    assert without_sign(heading) == (left, plus)


def test_notes_that_say_two_things_turn_nothing():
    assert turned_by_notes(["Sill + = low", "sill: + = high"]) == {}
    assert set(turned_by_notes(["+ is to the inside"])) == {"sill_tilt", "jamb_face", "sill_line"}


def test_only_readings_have_a_sign():
    table = {"file": "a.csv", "installs": {"install_id": "A", "crew": "B", "fitted_on": {"column": "C", "sign": "-"}}}
    with pytest.raises(UserError, match="only the numbers of readings"):
        parse_mapping([table])
