"""Words of direction beside readings, and columns that count the other way: read where plain, else set aside."""

import json

import pytest

from pipeline.ingest.texts.directions import WayEvidence, factor_of
from pipeline.ingest.texts.numbers import read_number


def readings(firm, measure, *cells, toml=""):
    """What the readings of one jamb or sill become, in their order; None for those set aside."""
    rows = [f'D1,{measure},{at * 100},"{cell}",mm,' for at, cell in enumerate(cells)]
    firm.write("readings.csv", "\n".join(["install_id,measure,position_mm,value,unit,read_by", *rows]) + "\n")
    firm.write("fitback.toml", toml)
    firm.take_in()
    found = dict(firm.ask("SELECT position_mm::INT, value FROM readings ORDER BY 1"))
    return [found.get(at * 100) for at in range(len(cells))]


def quoted(*cells):
    return [cell.replace('"', '""') for cell in cells]


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [('3/8" proud', 0.375, '" proud'), ("5/32nds down", 5 / 32, "down"), ("12 (up)", 12, "up"), ("9'", 9, "ft"),
     ('2″', 2, '"'), ("3''", 3, '"'), ("12 450", 12450, None), ("3 150 mm", 3150, "mm"), ("4 075,5", 4075.5, None)],
)  # fmt: skip
def test_numbers_with_what_stands_beside_them(text, value, unit):
    number, problem = read_number(text)
    assert problem is None
    assert (number.value, number.unit) == (pytest.approx(value), unit)


@pytest.mark.parametrize("text", ["150 600", "12 34", "1 200 55", "(4)", "3-4", "5-", "~6", "<2"])
def test_what_may_be_two_numbers_or_about_one_is_no_number(text):
    assert read_number(text)[0] is None


def test_high_and_low_say_the_sign_of_a_sill(firm):
    cells = quoted("4 hi", "2.5mm below", "low 1", '1/8" up', "- 3", "minus 2", "1 (dip)", "-2 low", "+1 above")
    found = readings(firm, "sill_height", *[cell for cell in cells if "/" not in cell])
    assert found == [4.0, -2.5, -1.0, -3.0, -2.0, -1.0, -2.0, 1.0]
    raw = [json.loads(one) for (one,) in firm.ask("SELECT raw FROM readings_history ORDER BY row")]
    assert (raw[1]["value"], raw[1]["value rule"]) == ("2.5mm below", "unit in the cell, below means minus")


@pytest.mark.parametrize("cell", ["+2 low", "-1 up", "3 out", "3 left", "2 high low", "4 tight"])
def test_contradictions_and_words_that_are_no_way_of_a_sill_are_set_aside(firm, cell):
    assert readings(firm, "sill_height", cell, "1") == [None, 1.0]


def test_in_and_out_are_ways_where_the_sheet_says_both(firm):
    assert readings(firm, "jamb_face", "2 out", "1.5 in", "0", "3mm out") == [2.0, -1.5, 0.0, 3.0]
    assert readings(firm, "jamb_face", "2 out", "1.5", "3mm out") == [None, 1.5, None]
    assert all("no cell of this measure in the sheet says the other way" in one for one in firm.reasons())
    assert readings(firm, "jamb_face", "2 leaning out", "3mm inwards", "1 outside") == [2.0, -3.0, 1.0]


def test_what_a_firm_declares_goes_before_what_a_word_says(firm):
    toml = '[[sign]]\ntext = "out"\nsign = "-"\nmeasure = "jamb_face"\n'
    assert readings(firm, "jamb_face", "2 out", "-4 out", "+1 out", toml=toml) == [-2.0, -4.0, None]


def test_inches_beside_a_way_make_in_no_way():
    evidence = WayEvidence()
    for text in ("1/16 in out", "1/8 in"):
        evidence.add("jamb_face", text)
    assert evidence.both == frozenset()


@pytest.mark.parametrize(
    ("measure", "side", "factor"),
    [("sill_height", "down", -1.0), ("sill_tilt", "fall to outside", 1.0), ("jamb_edge", "left", None),
     ("head_gap", "high", None), ("sill_line", "bowed in", -1.0), ("jamb_face", "minus", -1.0)],
)  # fmt: skip
def test_the_sign_of_a_way(measure, side, factor):
    assert factor_of(measure, side, is_way=False) == factor
