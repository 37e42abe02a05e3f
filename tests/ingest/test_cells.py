"""Single cells: days, numbers, words and units, as people write them."""

from datetime import date, datetime

import pytest
from openpyxl.utils.datetime import MAC_EPOCH, WINDOWS_EPOCH, from_excel

from pipeline.catalogue import load_catalogue
from pipeline.ingest.texts.dates import EPOCH_1900, EPOCH_1904, NAMED, day_of_serial, possible_days
from pipeline.ingest.texts.day_orders import DayOrder
from pipeline.ingest.texts.numbers import judge_number, judge_whole, read_number
from pipeline.ingest.texts.units import Units, slope_per_length
from pipeline.ingest.texts.words import WordList, known_place

UNITS = Units(
    load_catalogue({"measure": [{"name": "noise_level", "unit": "dB"}, {"name": "bolt_throw", "unit": "cm"}]})
)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2025-01-31", date(2025, 1, 31)),
        ("2024-02-29", date(2024, 2, 29)),
        ("2025-1-5", date(2025, 1, 5)),
        ("2025/01/05", date(2025, 1, 5)),
        ("2025-01-31 23:59:59", date(2025, 1, 31)),
        ("2025-01-31T23:30:00-08:00", date(2025, 1, 31)),
    ],
)
def test_a_day_year_first_is_read_and_its_time_cut(text, day):
    assert DayOrder().judge(text) == (day, None, None)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("31/02/2025", "there is no such day"),
        ("01.02.2025", "can be mixed up"),
        ("25-01-05", "can be mixed up"),
        ("2025-02-31", "there is no such day"),
        ("2025-13-01", "there is no such day"),
        ("0205-01-01", "the year cannot be right"),
        ("5 January", "its year is not said"),
        ("w/c 3 March 2025", "this is a week, not one day"),
        ("Mar-25", "this is a month or more, not one day"),
        ("13-14/03/25", "these may be two days"),
        ("2025-01", "this is not a date"),
        ("45667", "a spreadsheet's number of a day"),
    ],
)
def test_a_doubtful_day_is_not_guessed(text, words):
    day, _, problem = DayOrder().judge(text)
    assert day is None
    assert words in problem


def test_serial_numbers_of_both_epochs():
    # ECMA-376 part 1, 18.17.4.1: serial 1 is 1 January 1900, or 2 January 1904 where day zero is 1 January 1904
    assert day_of_serial(1, EPOCH_1900) == date(1900, 1, 1)
    assert day_of_serial(59, EPOCH_1900) == date(1900, 2, 28)
    assert day_of_serial(61, EPOCH_1900) == date(1900, 3, 1)
    assert day_of_serial(1, EPOCH_1904) == date(1904, 1, 2)
    # the two systems are 1,462 days apart
    assert day_of_serial(45667, EPOCH_1900) == day_of_serial(45667 - 1462, EPOCH_1904) == date(2025, 1, 10)
    assert day_of_serial(0, EPOCH_1900) is None
    assert day_of_serial(250_000, EPOCH_1900) is None


@pytest.mark.parametrize(
    ("text", "number"),
    [("12", 12), ("-0.5", -0.5), (".5", 0.5), ("5.", 5), ("+3", 3), ("1e3", 1000), ("2.5E-1", 0.25), ("1/8", 0.125),
     ("4 1/2", 4.5), ("4-1/2", 4.5), ("-1 3/16", -1.1875), ("- 3", -3),
     ("+ 2.5", 2.5), ("- - 3", None), ("1,5", 1.5), ("1.250,5", 1250.5),
     ("31/8", None), ("12/25", None), ("inf", None), ("NaN", None), ("1/0", None), ("0x1", None), ("3 mm", None),
     ("", None), ("1 2", None), ("٣", None)],
)  # fmt: skip
def test_numbers_are_decimals_or_plain_fractions(text, number):
    found, problem = judge_number(text)
    assert found == number
    assert (problem is None) == (number is not None)


def test_a_unit_in_the_cell_of_the_number_is_pointed_at():
    for text, unit in (("12mm", "mm"), ("12 mm", "mm"), ('12"', '"'), ("12 °C", "°C"), ("12 mm/m", "mm/m")):
        assert judge_number(text) == (None, f"write the number alone (12), without '{unit}'")
    for text in ("1h30", "12x9"):
        assert judge_number(text)[1] == "this is not a number; write it in digits, such as 3.5"


@pytest.mark.parametrize(
    ("texts", "reason"),
    [
        (("12 to 14", "2-3", "5mm/3mm", "5 → 3"), "these are two numbers, or a range of them"),
        ((">12", "~12", "approx. 3", "3?", "3+", "about 3mm"), "this says about how much it is, or how much at most"),
        (("ditto", "as above", "see note", '"'), "points to another place"),
        (("n.a.", "?", "-"), "is not a number; write the reading, or empty the cell"),
    ],
)
def test_what_is_no_one_number_is_never_read(texts, reason):
    for text in texts:
        number, problem = judge_number(text)
        assert number is None
        assert reason in problem


def test_feet_and_inches_in_one_cell():
    for text in ("7'-6 1/2\"", "7ft 6 1/2in", "7' 6 1/2", "7’ 6½”", "7 FT 6.5 IN", "7 foot 6 1/2 inches"):
        number, _ = read_number(text)
        assert (number.value, number.unit) == (90.5, "in")
    assert read_number("7' 14\"")[0] is None


def test_a_whole_number_may_be_written_with_a_point():
    assert judge_whole("4.0") == (4, None)
    assert judge_whole("4.5") == (None, "this must be a whole number; correct it")


@pytest.mark.parametrize(
    ("measure", "unit", "written", "canonical", "canonical_unit"),
    [
        # NIST SP 811 (2008), appendix B.8: exact factors
        ("frame_width", "in", 1, 25.4, "mm"),
        ("frame_width", "ft", 1, 304.8, "mm"),
        ("running_force", "kgf", 1, 9.80665, "N"),
        # NIST SP 811, B.8: t/degC = (t/degF - 32)/1.8
        ("temperature", "°F", 212, 100, "°C"),
        ("temperature", "f", 32, 0, "°C"),
        ("frame_width", "Metres", 2.5, 2500, "mm"),
        ("frame_width", '"', 4, 101.6, "mm"),
        ("frame_width", " MM ", 7, 7, "mm"),
        ("seal_compression", "quarter turns", 3, 3, "mm"),
        ("hinge_packers", "1", 3, 3, "count"),
        ("bolt_throw", "mm", 25, 2.5, "cm"),
        ("bolt_throw", "CM", 25, 25, "cm"),
        ("noise_level", "db", 30, 30, "dB"),
    ],
)
def test_a_unit_the_trade_uses_is_converted(measure, unit, written, canonical, canonical_unit):
    conversion, problem = UNITS.convert(measure, unit)
    assert problem is None
    assert conversion.unit == canonical_unit
    assert written * conversion.factor + conversion.offset == pytest.approx(canonical, rel=1e-12)


@pytest.mark.parametrize(
    ("measure", "unit"),
    [
        ("frame_width", "kg"),
        ("frame_width", "deg"),
        ("temperature", "mm"),
        ("noise_level", "mm"),
        ("frame_width", "mmm"),
    ],
)
def test_a_unit_the_measure_does_not_take_is_never_guessed(measure, unit):
    conversion, problem = UNITS.convert(measure, unit)
    assert conversion is None
    assert "write" in problem


def test_a_lean_becomes_millimetres_per_millimetre():
    # trade brief 3.11: 0.1 deg = 1.75 mm/m
    assert slope_per_length(0.1, "deg") * 1000 == pytest.approx(1.745, abs=0.0005)
    assert slope_per_length(1.5, "mm/m") == 0.0015


def test_case_blanks_and_underscores_do_not_count_in_closed_words():
    words = WordList("faults", ("dropped_leaf", "binding"))
    assert words.judge(" Dropped  LEAF ") == words.judge("dropped-leaf") == ("dropped_leaf", None)
    assert words.judge_several("binding; dropped leaf;binding;") == ("binding;dropped_leaf", None)
    assert words.judge_several(" ; ") == (None, None)
    assert words.judge("drooped_leaf") == (None, "'drooped_leaf' is not one of the known faults; write dropped_leaf")


@pytest.mark.parametrize(
    ("text", "place"),
    [("Left Jamb", "left_jamb"), ("LEAF 3", "leaf_3"), ("leaf12", "leaf_12"), ("Head", "head"),
     ("top", "top"), ("Bay window", "Bay window")],
)  # fmt: skip
def test_members_and_stations_of_the_trade_are_spelt_alike_and_others_kept(text, place):
    assert known_place(text) == place


def test_years_of_two_digits_are_those_of_the_standard():
    # POSIX.1-2017, strptime, %y; the standard library follows it
    for year in range(100):
        assert possible_days(f"5 Jan {year:02d}") == {NAMED: datetime.strptime(f"05 01 {year:02d}", "%d %m %y").date()}


@pytest.mark.parametrize("epoch", [EPOCH_1900, EPOCH_1904])
def test_serial_numbers_are_those_of_another_reader_of_workbooks(epoch):
    base = {EPOCH_1900: WINDOWS_EPOCH, EPOCH_1904: MAC_EPOCH}[epoch]
    for serial in [61, 1000, 25569, 36526, 43831.75, 45667, 60000]:
        assert day_of_serial(serial, epoch) == from_excel(serial, base).date()


def test_grouped_digits_of_the_standard():
    # NIST SP 811 (2008), 10.5.3: digits in groups of three, set apart by a fixed space, never by a comma
    assert judge_number("15\u202f739.012\u202f53")[0] is None
    assert judge_number("15\u202f739")[0] == judge_number("15739")[0] == 15739


@pytest.mark.parametrize("text", ["£120", "120 €", "$1,250.00"])
def test_an_amount_stands_without_its_currency(text):
    assert judge_number(text) == (None, "a currency stands beside the number; write the amount alone, in digits")
