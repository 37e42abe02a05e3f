"""Filled sheets are taken in as they are: what was written comes in, what was left empty is no row and no fault."""

import re
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import duckdb
import pytest
from openpyxl import load_workbook

from pipeline.catalogue import load_catalogue
from pipeline.ingest.take import take_in
from pipeline.settings import load_settings
from pipeline.sheets.door import door_of
from pipeline.sheets.write import write_sheets

INSTALLS = "install_id,crew,fitted_on,width_mm,height_mm,leaves\nD-0042,Alder,2026-02-02,4200,2100,4\n"
DAY = date(2026, 2, 2)
Fill = Callable[[dict[str, Any]], Any]


def take(folder: Path) -> list[str]:
    """Takes a folder in; gives what there was to say."""
    (folder / "installs.csv").write_text(INSTALLS, encoding="utf-8")
    settings, catalogue = load_settings(folder)
    return take_in(folder, folder.with_name("out"), settings, catalogue, lambda _: None, date(2026, 3, 1)).notes


def is_clean(folder: Path) -> bool:
    return ask(folder, "SELECT count(*) FROM rejections") == [(0,)]


def ask(folder: Path, sql: str) -> list[tuple[Any, ...]]:
    with duckdb.connect(str(folder.with_name("out") / "records.duckdb"), read_only=True) as connection:
        return connection.execute(sql).fetchall()


def fill(path: Path, name: str, answer: Fill, worked_out: bool = True, **once: Any) -> int:
    """Fills a workbook as a person and a spreadsheet do: answers, what is written once, copies worked out.

    answer  for a line (its cells by heading), what is written in the column `name`; None: left empty
    """
    book = load_workbook(path)
    sheet = book.active
    headings = {str(cell.value): cell.column for cell in sheet[1]}
    filled = 0
    for row in range(2, sheet.max_row + 1):
        cells = {heading: sheet.cell(row, column).value for heading, column in headings.items()}
        if cells["sheet_line"] is None:
            continue
        sheet.cell(row, headings[name]).value = written = answer(cells)
        filled += written is not None
        for heading, value in once.items():
            if worked_out or cells["sheet_line"] == 1:
                sheet.cell(row, headings[heading]).value = value
        if worked_out and "instrument" in headings:
            sheet.cell(row, headings["instrument"]).value = None
    book.save(path)
    return filled


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "doors"
    made.mkdir()
    return made


@pytest.mark.parametrize(("size", "leaves"), [((4200, 2100), 4), ((900, 2000), 1), ((12_000, 2600), 12)])
def test_every_line_that_is_filled_in_comes_in_as_written(folder: Path, size: tuple[int, int], leaves: int) -> None:
    blank = write_sheets(door_of(*size, leaves), folder, "D-0042", None)
    measures = {row.name: row for row in load_catalogue().measures}

    def value(cells: dict[str, Any]) -> float:
        row = measures[cells["measure"]]
        return max(row.low or 0.0, 0.0) + (cells["sheet_line"] % 80) / 8

    n_readings = fill(blank.readings, "value", value, read_on=DAY, read_by="Fitter 1")
    n_checks = fill(blank.checks, "outcome", lambda cells: "pass", checked_on=DAY)
    take(folder)
    assert is_clean(folder)
    assert (n_readings, n_checks) == (blank.n_readings, blank.n_checks)
    assert ask(folder, "SELECT count(*), min(read_on), max(read_by) FROM readings") == [(n_readings, DAY, "Fitter 1")]
    assert ask(folder, "SELECT count(*) FROM checks WHERE outcome = 'pass'") == [(n_checks,)]


def test_lines_left_empty_are_no_rows_and_are_told(folder: Path) -> None:
    blank = write_sheets(door_of(4200, 2100, 4), folder, "D-0042", None)
    n_filled = fill(blank.readings, "value", lambda cells: 12.5 if cells["measure"] == "sill_height" else None)
    fill(blank.checks, "outcome", lambda cells: None)
    said = take(folder)
    assert is_clean(folder)
    assert ask(folder, "SELECT count(*), min(value), max(value) FROM readings") == [(n_filled, 12.5, 12.5)]
    told = [line for line in said if "left empty" in line]
    assert any(f"{blank.n_readings - n_filled} lines" in line for line in told), said
    assert any(f"{blank.n_checks} lines" in line for line in told)


def test_what_is_written_once_is_copied_down_by_the_spreadsheet(folder: Path) -> None:
    """Copies are formulas; here they stand as a spreadsheet keeps them, worked out."""
    blank = write_sheets(door_of(4200, 2100, 4), folder, "", None)
    sheet = load_workbook(blank.readings).active
    columns = {str(cell.value): cell.column_letter for cell in sheet[1]}
    ids = [sheet[f"{columns['install_id']}{row}"].value for row in range(3, sheet.max_row + 1)]
    assert ids[0] is None
    assert ids[1] == f'=IF({columns["install_id"]}3="","",{columns["install_id"]}3)'
    n_filled = fill(blank.readings, "value", lambda cells: 1000, install_id="D-0042", read_on=DAY, read_by="Fitter 1")
    fill(blank.checks, "outcome", lambda cells: "fail", install_id="D-0042", checked_on=DAY)
    take(folder)
    assert ask(folder, "SELECT count(*) FROM checks WHERE outcome = 'fail'") == [(blank.n_checks,)]
    assert not is_clean(folder)  # 1,000 mm is no gap
    both = "SELECT (SELECT count(*) FROM readings) + (SELECT count(*) FROM rejections)"
    assert ask(folder, both) == [(n_filled,)]


def work_out(path: Path, once: dict[str, tuple[str, str]]) -> None:
    """Puts beside every copying formula what it comes to, as a spreadsheet does on saving; formulas stay.

    once  by column letter, the kind of its cells and what stands in the first of them; else the copy is an empty text
    """
    with ZipFile(path) as book:
        members = {name: book.read(name) for name in book.namelist()}
    name = "xl/worksheets/sheet1.xml"
    formula = re.compile(r'<c r="([A-Z])(\d+)"( s="\d+")?><f>(.*?)</f><v ?/?>(?:</v>)?</c>')

    def worked_out(found: re.Match[str]) -> str:
        kind, value = once.get(found[1], ("str", ""))
        return f'<c r="{found[1]}{found[2]}"{found[3] or ""} t="{kind}"><f>{found[4]}</f><v>{value}</v></c>'

    text, n_formulas = formula.subn(worked_out, members[name].decode())
    assert n_formulas > 100
    members[name] = text.encode()
    with ZipFile(path, "w") as book:
        for name, content in members.items():
            book.writestr(name, content)


def test_copies_are_read_as_the_spreadsheet_worked_them_out(folder: Path) -> None:
    """The formulas stand in the file with what they came to beside them: texts, days as numbers, empty texts."""
    blank = write_sheets(door_of(4200, 2100, 4), folder, "", None)
    book = load_workbook(blank.readings)
    sheet = book.active
    columns = {str(cell.value): cell.column_letter for cell in sheet[1]}
    sheet[f"{columns['install_id']}3"], sheet[f"{columns['read_on']}3"] = "D-0042", DAY
    for row in range(2, sheet.max_row + 1):
        if sheet[f"{columns['measure']}{row}"].value == "head_gap":
            sheet[f"{columns['value']}{row}"] = 5
    book.save(blank.readings)
    work_out(blank.readings, {columns["install_id"]: ("str", "D-0042"), columns["read_on"]: ("n", "46055")})
    blank.checks.unlink()
    take(folder)
    assert is_clean(folder)
    rows = ask(folder, "SELECT install_id, read_on, read_by, instrument, count(*) FROM readings GROUP BY ALL")
    assert rows == [("D-0042", DAY, None, None, 8)]


def test_copies_that_were_never_worked_out_lose_nothing(folder: Path) -> None:
    """A file saved by a program that works nothing out: only the first line names its door, others are set aside."""
    blank = write_sheets(door_of(4200, 2100, 4), folder, "", None)
    n_filled = fill(
        blank.readings, "value", lambda cells: 900 if cells["step"] == "survey" else None, False, install_id="D-0042"
    )
    fill(blank.checks, "outcome", lambda cells: None)
    take(folder)
    assert ask(folder, "SELECT count(*) FROM readings") == [(1,)]
    set_aside = ask(folder, "SELECT \"column\", count(*) FROM rejections WHERE scope = 'row' GROUP BY ALL")
    assert set_aside == [("install_id", n_filled - 1)]


def test_a_sheet_saved_as_csv_is_read_the_same(folder: Path) -> None:
    head = "sheet_line,step,measure,member,station,position_mm,value,unit,install_id\n"
    lines = "1,sill,sill_height,sill,,50,3.5,mm,D-0042\n2,sill,sill_height,sill,,700,,mm,D-0042\n,FRAME,,,,,,,\n"
    (folder / "readings D-0042.csv").write_text(head + lines, encoding="utf-8")
    said = take(folder)
    assert is_clean(folder)
    assert ask(folder, "SELECT position_mm, value FROM readings") == [(50.0, 3.5)]
    assert any("1 line of a record sheet left empty" in line for line in said)


def test_a_missing_value_elsewhere_stays_a_mistake(folder: Path) -> None:
    text = "install_id,measure,member,position_mm,value,unit\nD-0042,sill_height,sill,50,,mm\n"
    (folder / "readings.csv").write_text(text, encoding="utf-8")
    take(folder)
    assert not is_clean(folder)


def test_a_door_number_that_looks_like_a_formula_stays_a_text(folder: Path) -> None:
    blank = write_sheets(door_of(900, 2000, 1), folder, "=1+1", None)
    sheet = load_workbook(blank.readings).active
    column = next(cell.column for cell in sheet[1] if cell.value == "install_id")
    cell = sheet.cell(3, column)
    assert (cell.value, cell.data_type) == ("'=1+1", "s")
