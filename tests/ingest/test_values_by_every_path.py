"""Values by the column's evidence on every way in: many parts, the typed path, typed cells, a firm's own sheets."""

from datetime import date

import duckdb
import openpyxl
import polars as pl
import pytest

from pipeline.ingest.files.sheets import Part
from pipeline.ingest.landing.waiting import Waiting
from tests.ingest.test_bulk import assert_same, by_both_paths
from tests.ingest.test_values import HEADER, RAW, SIGNS, VALUES, take_readings


def test_a_sheet_of_many_parts_is_judged_by_all_of_them(firm, monkeypatch):
    monkeypatch.setattr("pipeline.ingest.files.csv_text.PART_ROWS", 2)
    take_readings(firm, '"1,234",mm,', "7,mm,", "8,mm,", "short", '"3,5",mm,')
    assert firm.ask(VALUES) == [("1", 1.234), ("2", 7.0), ("3", 8.0), ("5", 3.5)]
    assert firm.account("readings") == (5, 4, 1, 0)


def test_parts_wait_in_their_order():
    parts = [Part(pl.DataFrame({"row": [2 * n, 2 * n + 1], "value": [str(n), None]}), [(n, n)]) for n in range(4)]
    with duckdb.connect() as connection, Waiting(connection) as waiting:
        for part in parts:
            waiting.add(part)
        found = list(waiting.parts())
    assert [part.rows.rows() for part in found] == [part.rows.rows() for part in parts]
    assert [part.misfits for part in found] == [part.misfits for part in parts]


LARGE = {
    "commas, the point shown by typed rows": ["12.5", '"1,234"', "1.234"],
    "decimal commas": ['"3,5"', "1.234", "12", " 2.345 "],
    "a doubtful comma": ['"1,234"', "1.234", "12"],
    "doubtful points": ["1.234", "12", "-1.000", "+2.345", " 3.456 ", "4.567\t"],
    "doubtful points beside others": ["1.234", "12.50", "0.123", "1234.567"],
    "both": ['"3,5"', "2.5", "1.234"],
    "units in the cells": ["3mm", "3", "4 cm"],
}


@pytest.mark.parametrize("form", LARGE)
def test_the_typed_path_hears_the_columns_evidence_too(new_firm, monkeypatch, form):
    rows = [f"D1,sill_height,{number},{value},mm," for number, value in enumerate(LARGE[form])]
    content = "\n".join([HEADER, *rows]) + "\n"
    text, typed = by_both_paths(new_firm, monkeypatch, "readings.csv", content)
    assert_same(typed, text)


@pytest.mark.parametrize("smallest", [0, 1 << 40])
def test_declared_signs_turn_plain_numbers_on_both_paths(firm, monkeypatch, smallest):
    monkeypatch.setattr("pipeline.ingest.reading.SMALLEST_BULK_BYTES", {".csv": smallest, ".parquet": smallest})
    take_readings(firm, "3,mm,Kim", "3,mm,Sam", "4,mm,kim", toml='decimals = "comma"\n' + SIGNS)
    assert firm.ask(VALUES) == [("1", -3.0), ("2", 3.0), ("3", -4.0)]


@pytest.mark.parametrize(("typed_day", "n_large"), [("2025-02-03", 0), ("2025-02-23", 1)])
def test_the_typed_path_hears_of_exchanged_days_too(new_firm, monkeypatch, typed_day, n_large):
    days = ["2025-01-02", typed_day, "2025-02-04", "14/02/2025", "15/02/2025"]
    rows = [f"D1,sill_height,{number},3,mm,{day}" for number, day in enumerate(days)]
    content = "install_id,measure,station,value,unit,read_on\n" + "\n".join(rows) + "\n"
    text, typed = by_both_paths(new_firm, monkeypatch, "readings.csv", content, n_large)
    assert_same(typed, text)


def test_numbers_of_typed_cells_are_what_they_are_whatever_text_stands_beside_them(firm):
    book = openpyxl.Workbook()
    book.active.append(["install_id", "measure", "station", "value", "unit"])
    for row, value in enumerate([1.234, "3,5", "1,234", 2.5], start=1):
        book.active.append(["D1", "sill_height", str(row), value, "mm"])
    book.save(firm.folder / "readings.xlsx")
    (firm.folder / "readings.csv").unlink()
    firm.take_in()
    assert firm.ask(VALUES) == [("1", 1.234), ("2", 3.5), ("3", 1.234), ("4", 2.5)]
    assert [row for row, _ in firm.ask(RAW)] == [3, 4]


OWN_SHEET = """
[[sheet]]
file = "sills.xlsx"
[sheet.readings]
install_id = "Door"
each = [{ column = "Sill left", measure = "sill_height", station = "left", unit = "mm" }]
"""


def test_typed_numbers_of_a_firms_own_sheet_are_what_they_are_too(firm):
    book = openpyxl.Workbook()
    book.active.append(["Door", "Sill left"])
    for row in [["D1", 1.234], ["D1", "3,5"], ["D1", "1,234"], ["D1", 2.5], [12.5, 7]]:
        book.active.append(row)
    book.save(firm.folder / "sills.xlsx")
    (firm.folder / "readings.csv").unlink()
    firm.write("fitback.toml", OWN_SHEET)
    firm.take_in()
    found = firm.ask('SELECT value FROM readings_history ORDER BY "row"')
    assert found == [(1.234,), (3.5,), (1.234,), (2.5,), (7.0,)]
    assert ("sills.xlsx", 6, "Door", "12.5", "row") in firm.set_aside()


OWN_DOORS = """
[[sheet]]
file = "doors.csv"
[sheet.installs]
install_id = "Door"
crew = "Team"
fitted_on = "Date"
width_mm = { column = "Width", unit = "cm" }
[sheet.readings]
install_id = "Door"
share_of = { column = "Width", unit = "cm" }
each = [{ column = "Sill R", measure = "sill_height", share = 1.0, unit = "mm" }]
"""


def test_marks_of_a_firms_own_sheet_are_read_by_its_columns_evidence(empty_firm):
    rows = ["Door;Team;Date;Width;Sill R", "D1;Alder;31.01.2025;1.234;2,5", "D2;Alder;01.02.2025;420,5;3"]
    empty_firm.write("doors.csv", "\n".join(rows) + "\n")
    empty_firm.write("fitback.toml", OWN_DOORS)
    empty_firm.take_in()
    asked = "SELECT install_id, width_mm, fitted_on FROM installs ORDER BY 1"
    assert empty_firm.ask(asked) == [("D1", 12340.0, date(2025, 1, 31)), ("D2", 4205.0, date(2025, 2, 1))]
    places = empty_firm.ask("SELECT position_mm, value FROM readings ORDER BY install_id")
    assert places == [(12340.0, 2.5), (4205.0, 3.0)]
