"""fitback.xlsx as a person who works in a spreadsheet opens it: whole, formatted, true to the tables, and harmless."""

import re
import zipfile
from datetime import date, datetime
from pathlib import Path
from typing import Any

import duckdb
import openpyxl
import polars as pl
import pytest

from pipeline.books import is_made_by_us
from pipeline.export import PUBLISHED
from pipeline.ingest.records import RECORDS
from pipeline.report.book import write_book, writing
from pipeline.report.book.charts import DATA
from pipeline.report.book.start import CHARTS, START
from pipeline.report.book.tab import DAY, FORMATS
from pipeline.report.book.tabs import TABS
from pipeline.report.book.writing import HEAD_ROW, NAMES_ROW
from pipeline.report.numbers import as_name
from pipeline.report.reading import Results
from pipeline.report.sheets.answers import answers_of
from tests.report.conftest import hostile_tables
from tests.report.invented import HOSTILE, few_tables, invented_tables, write_results

# what is called as a personal column is and says something of a result instead
OUR_OWN_NOTES = {("effects", "note"), ("limit_advice", "note"), ("training_effects", "note")}

NUMBERS = (int, float)


def plain(value: Any) -> Any:
    """A value of a cell as one of a table: days without a time, numbers to as many digits as a workbook keeps."""
    if isinstance(value, datetime):
        return value.date()
    return float(f"{value:.12g}") if isinstance(value, float) else value


class Book:
    """A workbook beside the results that it was made of."""

    def __init__(self, folder: Path, tables: Any) -> None:
        self.results = write_results(folder / "results.duckdb", tables)
        self.path = write_book(self.results, folder / "fitback.xlsx")
        self.book = openpyxl.load_workbook(self.path)

    def cells(self, name: str) -> list[tuple[Any, ...]]:
        """The rows under the heading of a sheet."""
        return list(self.book[name].iter_rows(min_row=HEAD_ROW + 1, values_only=True))

    def column(self, name: str, column: str) -> list[Any]:
        """One column of a sheet, by the name that it has in the tables."""
        names = [cell.value for cell in self.book[name][NAMES_ROW]]
        return [row[names.index(column)] for row in self.cells(name)]

    def texts(self) -> list[str]:
        sheets = self.book.worksheets
        return [cell for sheet in sheets for row in sheet.values for cell in row if isinstance(cell, str)]


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    return Book(tmp_path_factory.mktemp("book"), invented_tables())


@pytest.fixture(scope="module")
def hostile_book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    return Book(tmp_path_factory.mktemp("hostile"), hostile_tables())


@pytest.fixture(scope="module")
def few_book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    return Book(tmp_path_factory.mktemp("few"), few_tables())


def test_the_first_sheet_says_what_it_is_and_gives_the_answers_of_the_letter(book):
    sheet = book.book.worksheets[0]
    assert sheet.title == START
    said = [cell for row in sheet.values for cell in row if isinstance(cell, str)]
    assert said[:3] == [
        "fitback",
        "Invented Doors (no such firm)",
        "Records to 30 June 2026: 1,512 doors of 10 crews.",
    ]
    with Results(book.results) as opened:
        answers = answers_of(opened, opened.firm())
    assert len(answers) == 5
    assert all(as_name(answer.text) in said for answer in answers)


def test_the_first_sheet_lists_every_sheet_with_its_rows_and_leads_there(book):
    sheet = book.book[START]
    listed = {row[0].value: row for row in sheet.iter_rows(max_col=3) if row[0].hyperlink}
    assert [*listed, DATA] == [name for name in book.book.sheetnames if name != START]
    for name, (link, says, n_rows) in listed.items():
        assert link.hyperlink.location == f"'{name}'!A1"
        assert says.value
        assert name == CHARTS or n_rows.value == len(book.cells(name))


@pytest.mark.parametrize("tab", TABS, ids=lambda tab: tab.name)
def test_a_sheet_has_headings_a_filter_a_pane_that_stays_and_formats(book, tab):
    if tab.name not in book.book.sheetnames:
        with Results(book.results) as opened:
            assert opened.rows(tab.query, tab.source, 1)[1] == 0
        return
    sheet = book.book[tab.name]
    assert [cell.value for cell in sheet[HEAD_ROW]] == [column.heading for column in tab.columns]
    assert [cell.value for cell in sheet[NAMES_ROW]] == [column.name for column in tab.columns]
    assert sheet.auto_filter.ref == f"A{HEAD_ROW}:{sheet.cell(HEAD_ROW, len(tab.columns)).column_letter}{sheet.max_row}"
    assert sheet.freeze_panes == f"{sheet.cell(1, tab.frozen + 1).column_letter}{HEAD_ROW + 1}"
    for number, column in enumerate(tab.columns, 1):
        assert sheet.column_dimensions[sheet.cell(1, number).column_letter].width >= 10
        shown = [cell for (cell,) in sheet.iter_rows(HEAD_ROW + 1, None, number, number) if cell.value is not None]
        assert {cell.number_format for cell in shown} <= {FORMATS.get(column.form, "General")}
        assert all(isinstance(cell.value, datetime) == (column.form == DAY) for cell in shown)


@pytest.mark.parametrize("tab", TABS, ids=lambda tab: tab.name)
def test_a_sheets_numbers_are_those_of_its_table(book, tab):
    """Column by column against the table itself, read without the workbook's query."""
    assert tab.table in PUBLISHED
    if tab.name not in book.book.sheetnames:
        return
    with duckdb.connect(book.results, read_only=True) as connection:
        there = {row[0] for row in connection.execute(f'DESCRIBE "{tab.table}"').fetchall()}
        for column in [column.name for column in tab.columns if column.name in there]:
            known = {plain(row[0]) for row in connection.execute(f'SELECT "{column}" FROM "{tab.table}"').fetchall()}
            shown = {plain(value) for value in book.column(tab.name, column) if value is not None}
            if all(isinstance(value, (*NUMBERS, date)) for value in shown):
                assert shown <= known


def test_rows_that_are_left_out_are_said_on_the_sheet_and_on_the_first(book):
    with duckdb.connect(book.results, read_only=True) as connection:
        (n_pairs,) = connection.execute("SELECT count(*) FROM effects").fetchall()[0]
    left = n_pairs - len(book.cells("Causes"))
    assert left > 0
    said = f"Left out: {left:,} rows with too few records to judge"
    assert book.book["Causes"]["A3"].value.startswith(said)
    assert book.book["Causes"]["A3"].value.endswith("tables/effects.csv has all.")
    assert any(said in text for text in book.texts() if text.startswith("A row for each pair of a deviation or check"))


def test_a_sheet_that_is_cut_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr(writing, "MOST_ROWS", 3)
    cut = Book(tmp_path, invented_tables())
    (n_rows,) = {len(cut.cells("Crews")), len(cut.cells("Recorded"))}
    assert n_rows == 3
    assert cut.book["Crews"]["A3"].value == "Here stand the first 3 of 11 rows. tables/callback_rates.csv has all."


def test_the_charts_are_real_and_draw_rows_that_are_there(book):
    charts = book.book[CHARTS]._charts
    assert len(charts) == 5  # no practice is shown to be worth it in the invented numbers
    numbers = book.book[DATA]
    for chart in charts:
        for series in chart.series:
            first, last = map(int, re.findall(r"\$(\d+)", series.val.numRef.f))
            column = re.search(r"\$([A-Z]+)\$", series.val.numRef.f)[1]
            drawn = [numbers[f"{column}{row}"].value for row in range(first, last + 1)]
            assert all(isinstance(value, NUMBERS) for value in drawn)
            assert numbers[f"A{last + 1}"].value is None  # the last row of its block, none left out


def test_the_chart_of_crews_draws_the_rates_and_their_intervals(book):
    rows = {row[0]: row[1:] for row in book.book[DATA].values if isinstance(row[0], str) and row[0].startswith("K")}
    rates = zip(
        *(book.column("Crews", name) for name in ("crew", "rate", "rate_low", "rate_high")),
        strict=True,
    )
    for crew, rate, low, high in rates:
        if crew != "all":
            assert rows[crew] == pytest.approx((rate, low, high, rate - low, high - rate))


def test_of_many_crews_the_most_watched_are_drawn_and_the_chart_says_so(tmp_path):
    rates = invented_tables()["callback_rates"]
    several = [rates.filter(pl.col("crew") != "all").with_columns(crew=pl.col("crew") + f" {n}") for n in range(5)]
    many = Book(tmp_path, invented_tables() | {"callback_rates": pl.concat([*several, rates])})
    (title,) = [text for text in many.texts() if text.startswith("Callbacks per 100 door-years, by crew")][-1:]
    assert title == "Callbacks per 100 door-years, by crew, the 40 most watched"
    assert sum(str(row[0]).startswith("K") for row in many.book[DATA].values) == 40


def test_a_firm_in_its_first_week_gets_a_workbook_without_charts_of_nothing(few_book):
    assert few_book.book.sheetnames[0] == START
    assert CHARTS not in few_book.book.sheetnames
    assert {"Crews", "Recorded", "Files"} <= set(few_book.book.sheetnames)
    assert few_book.column("Crews", "rate") == [None, None]  # less than a door-year tells no rate
    assert few_book.column("Recorded", "recorded_share") == [0.0] * 16


@pytest.mark.parametrize("which", ["book", "hostile_book", "few_book"])
def test_nothing_in_the_workbook_is_worked_out_or_run(request, which):
    made = request.getfixturevalue(which)
    with zipfile.ZipFile(made.path) as parts:
        names = parts.namelist()
        sheets = [parts.read(name).decode() for name in names if name.startswith("xl/worksheets/sheet")]
    assert not [name for name in names if "vba" in name.lower() or "external" in name.lower()]
    assert not [sheet for sheet in sheets if re.search(r"<f[ >]|t=\"e\"", sheet)]
    assert not [text for text in made.texts() if re.match(r"[=+\-@\t\r]", text)]


def test_hostile_text_shows_as_text(hostile_book):
    shown = [text for text in hostile_book.texts() if "window.hacked" in text]
    assert len(shown) > 50
    assert not any("\u202e" in text for text in shown)  # it would turn what follows round
    assert " ".join(HOSTILE.replace("\u202e", " ").split()) in " ".join(shown)
    assert max(map(len, hostile_book.book.sheetnames)) <= 31


def test_no_column_is_a_personal_one():
    personal = {column.name for record in RECORDS for column in record.columns if column.is_personal}
    shown = {(tab.table, column.name) for tab in TABS for column in tab.columns}
    assert {(table, name) for table, name in shown if name in {*personal, "raw"}} == OUR_OWN_NOTES


def test_the_workbook_is_known_for_ours_and_names_its_run(book):
    assert is_made_by_us(book.path)
    assert book.book.properties.identifier == "2026-07-01T080000-1a2b3c"
    assert "2026-07-01T080000-1a2b3c" in book.texts()


def test_headings_of_a_sheet_can_be_told_apart():
    for tab in TABS:
        names = [column.name for column in tab.columns]
        assert len(set(names)) == len(names)
    assert len({tab.name for tab in TABS}) == len(TABS)
