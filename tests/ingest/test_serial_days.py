"""A spreadsheet's own numbers of days in files of text: from which day they are counted, and when that is not told."""

import json
from datetime import date

import pytest

from pipeline.ingest.texts.dates import EPOCH_1900, EPOCH_1904, day_of_serial
from pipeline.ingest.texts.day_orders import OrderEvidence
from tests.ingest.matching.test_match import matched
from tests.ingest.test_bulk import assert_same, by_both_paths
from tests.ingest.test_days_and_hours import take_doors

LAST_DAY = date(2026, 3, 1)
RULES = "SELECT DISTINCT json_extract_string(raw, 'fitted_on rule') FROM installs_history WHERE raw LIKE '%4566%'"


def days_of(texts, last_day=LAST_DAY):
    """The days of a column by itself; None for what is left to a person."""
    column, sheet = OrderEvidence(last_day), OrderEvidence(last_day)
    column.add(texts)
    sheet.join(column)
    order = column.decide(sheet)
    return [order.judge(text)[0] for text in texts]


def test_numbers_that_would_lie_years_ahead_are_counted_from_1900(firm):
    # 45667 is 10 January 2025 in the 1900 system (ECMA-376, part 1, 18.17.4)
    assert take_doors(firm, ["45667", "45668.5", "45669.0"]) == ["2025-01-10", "2025-01-11", "2025-01-12"]
    assert firm.ask(RULES) == [("a spreadsheet's number of a day, counted from 1900",)]
    assert firm.reasons() == []


def test_where_both_ways_of_counting_fit_both_days_are_told_and_none_is_taken(firm):
    assert take_doors(firm, ["2024-03-01", "42000", "42010"]) == ["2024-03-01"]
    (reason,) = [one for one in firm.reasons() if "2014-12-27 or 2018-12-28" in one]
    assert "count from 1900 or from 1904" in reason


def test_another_column_of_the_sheet_decides(firm):
    rows = ["install_id,crew,surveyed_on,fitted_on", "D1,Elm,42907,45700", "D2,Elm,43000,45710", "D3,Elm,42813,45720"]
    firm.write("installs.csv", "\n".join(rows) + "\n")
    firm.take_in()
    assert firm.ask("SELECT surveyed_on::TEXT FROM installs ORDER BY 1 LIMIT 1") == [("2017-03-19",)]


@pytest.mark.parametrize("gap", [0, 1, 40, 366])
@pytest.mark.parametrize("back", [0, 300, 1000, 1400, 3000])
def test_numbers_counted_from_1904_are_never_read_as_others(gap, back):
    newest = (LAST_DAY - date(1904, 1, 1)).days - back
    texts = [str(newest - gap * number) for number in range(6)]
    meant = [day_of_serial(float(text), EPOCH_1904) for text in texts]
    assert all(found in (None, day) for found, day in zip(days_of(texts), meant, strict=True))


@pytest.mark.parametrize("back", [0, 300, 1000])
def test_recent_numbers_counted_from_1900_all_come_in(back):
    newest = (LAST_DAY - date(1899, 12, 30)).days - back
    texts = [str(newest - 9 * number) for number in range(6)]
    assert days_of(texts) == [day_of_serial(float(text), EPOCH_1900) for text in texts]


@pytest.mark.parametrize(
    "texts",
    [
        ["45125", "46125", "44925"],  # all end alike: a day and a month before a year
        ["45667", "123", "7"],
        ["45667", "150225", "210225"],
        ["45667", "69000", "68000"],
    ],
)
def test_numbers_among_which_others_are_none_are_left_to_a_person(texts):
    assert days_of(texts) == [None] * len(texts)


def test_one_slip_of_the_pen_does_not_make_old_days_recent():
    texts = [str(42000 + 7 * number) for number in range(30)]
    assert set(days_of([*texts, "45667"])) == {None}


def test_days_written_beside_them_stay_what_they_are(firm):
    days = ["45667", "13/01/2025", "2025-01-14", "45670"]
    assert take_doors(firm, days) == ["2025-01-10", "2025-01-13", "2025-01-14", "2025-01-13"]


def test_numbers_of_days_in_lines_of_json(firm):
    rows = [{"install_id": f"D{number}", "crew": "Elm", "fitted_on": 45667 + number} for number in range(3)]
    (firm.folder / "installs.csv").unlink()
    firm.write("installs.jsonl", "\n".join(map(json.dumps, rows)) + "\n")
    firm.take_in()
    assert firm.ask("SELECT min(fitted_on)::TEXT, count(*) FROM installs") == [("2025-01-10", 3)]


def test_both_paths_read_the_same_days(new_firm, monkeypatch):
    rows = [f"D1,sill_height,{number},3,mm,{day}" for number, day in enumerate(["45667", "45668", "2025-01-12"])]
    content = "install_id,measure,station,value,unit,read_on\n" + "\n".join(rows) + "\n"
    text, typed = by_both_paths(new_firm, monkeypatch, "readings.csv", content, 1)
    assert_same(typed, text)


def test_a_register_of_a_firms_own_with_numbers_of_days(empty_firm):
    rows = ["Job;Crew;Customer;Install date;Handover date;Width mm;Height mm"]
    rows += [f"G-{n};Elm;Pym;{45600 + 9 * n};{45602 + 9 * n};3000;2100" for n in range(6)]
    empty_firm.write("register.csv", "\n".join(rows) + "\n")
    matched(empty_firm, "register.csv")
    empty_firm.take_in()
    found = empty_firm.ask("SELECT fitted_on, handed_over_on FROM installs ORDER BY 1 LIMIT 1")
    assert found == [(date(2024, 11, 4), date(2024, 11, 6))]


def test_numbers_of_papers_that_count_up_are_no_days(empty_firm):
    rows = ["Job;Crew;Survey;Install date;Width mm;Height mm"]
    rows += [f"G-{n};Elm;{45100 + n};{10 + n}.03.2025;3000;2100" for n in range(1, 14)]
    empty_firm.write("register.csv", "\n".join(rows) + "\n")
    matched(empty_firm, "register.csv")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(surveyed_on), count(fitted_on) FROM installs") == [(0, 13)]
