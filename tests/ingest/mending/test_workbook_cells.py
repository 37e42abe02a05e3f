"""The cells of the set-aside workbook: safe to open, whole on the way back, typed by spreadsheets as they like."""

from datetime import date, datetime

import pytest

from pipeline.books import safe_cell, unguarded
from pipeline.ingest.mending.book import BOOK
from tests.ingest.conftest import INSTALLS
from tests.ingest.mending.books import corrected, opened, read

HOSTILE = [
    "=HYPERLINK(\"x\")", "+1+1", "-1", "@sum", "\tleading tab", "x" * 10_000, "x" * 40_000, "\u200f\u202eabc\u202c",
    "a\u0001b\u000b", "a\r\nb\rc\n", "_x000D_", "'=quoted", "  blanks  ", "\ufffe\uffff", "<a>&amp;</a>", "#REF!",
    "TRUE", "2025-01-02", "1e5", "007", "\U0001f6aa", "a,b;c\"d\"",
]  # fmt: skip


def quoted(text):
    return '"' + text.replace('"', '""') + '"'


def firm_with_crew_cells(firm, texts):
    """Every text stands as a product of a row that is set aside for its date."""
    rows = [f"X{number},Alder,someday,{quoted(text)}" for number, text in enumerate(texts)]
    firm.write("installs.csv", "\n".join(["install_id,crew,fitted_on,product", "D1,Alder,2025-01-10,", *rows]) + "\n")
    return firm


def test_a_workbook_of_hostile_cells_read_back_untouched_corrects_nothing(empty_firm):
    firm_with_crew_cells(empty_firm, HOSTILE)
    empty_firm.take_in()
    before = empty_firm.set_aside()
    with opened(empty_firm.out / BOOK):
        pass  # saved again by another program
    assert empty_firm.take_in().notes == []
    assert empty_firm.ask("FROM corrections") == []
    assert empty_firm.set_aside() == before
    cells = [line["product"] for line in read(empty_firm.out / BOOK, "installs").lines]
    assert not [cell for cell in cells if cell and cell[0] in "=+-@\t\r"]


# A cell that is an error says nothing, and a number of a character is that character.
@pytest.mark.parametrize("text", [text for text in HOSTILE if text not in ("#REF!", "_x000D_")])
def test_a_hostile_text_of_a_person_is_taken_as_text(empty_firm, text):
    firm_with_crew_cells(empty_firm, ["plain"])
    empty_firm.take_in()
    with corrected(empty_firm.out / BOOK, "installs") as sheet:
        sheet.put(0, fitted_on="2025-01-10", product=safe_cell(text))
    empty_firm.take_in()
    assert empty_firm.account("installs") == (2, 2, 0, 0)
    (after,) = empty_firm.ask("SELECT product FROM installs WHERE install_id = 'X0'")[0]
    assert (after is None) == (not safe_cell(text).strip())
    empty_firm.take_in()
    assert empty_firm.account("installs") == (2, 2, 0, 0)


@pytest.mark.parametrize("text", [text for text in HOSTILE if "\u0001" not in text and len(text) < 30_000])
def test_the_apostrophe_goes_on_the_way_back(text):
    if not text.startswith(("'=", "\ufffe")):
        assert unguarded(safe_cell(text)) == text


DOUBTFUL = """
install_id,measure,member,position_mm,value,unit
D1,sill_height,sill,0,"1,234",mm
D1,sill_height,sill,2000,abc,mm
"""


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        (1.234, 1.234),  # a number that a person typed as one leaves nothing in doubt
        (1234, 1234.0),
        ("1.234", None),  # a text is in doubt as the file's own are
        ("1,234", None),  # the text it was
    ],
)
def test_a_number_in_doubt_is_settled_by_typing_it(firm, typed, value):
    firm.write("readings.csv", DOUBTFUL)
    firm.take_in()
    lines = read(firm.out / BOOK, "readings").lines
    assert [line["value"] for line in lines] == ["1,234", "abc"]
    with corrected(firm.out / BOOK, "readings") as sheet:
        sheet.put(0, value=typed)
    firm.take_in()
    found = firm.ask("SELECT value FROM readings WHERE position_mm = 0")
    assert found == ([] if value is None else [(value,)])
    assert firm.account("readings") == ((2, 0, 2, 0) if value is None else (2, 1, 1, 0))


@pytest.mark.parametrize("typed", [date(2025, 2, 10), datetime(2025, 2, 10, 13, 30), "10/02/2025", 45698])
def test_days_typed_as_dates_as_text_or_as_serial_numbers(firm, typed):
    firm.write("installs.csv", INSTALLS.replace("2025-02-10", "tomorrow").replace("2025-01-10", "31/01/2025"))
    firm.take_in()
    with corrected(firm.out / BOOK, "installs") as sheet:
        sheet.put(0, fitted_on=typed)
    firm.take_in()
    assert firm.ask("SELECT fitted_on FROM installs WHERE install_id = 'D2'") == [(date(2025, 2, 10),)]


def test_numbers_and_dates_that_a_spreadsheet_made_of_untouched_cells_are_no_corrections(firm):
    firm.write("installs.csv", INSTALLS.replace("Birch,2025-02-10", ",2025-02-10").replace("D2", "0042"))
    firm.take_in()
    with corrected(firm.out / BOOK, "installs") as sheet:
        (line,) = sheet.lines
        assert (line["install_id"], line["width_mm"]) == ("0042", "3000")
        sheet.put(0, install_id=42, width_mm=3000.0, fitted_on=date(2025, 2, 10))
    firm.take_in()
    assert firm.ask("FROM corrections") == []


def test_a_date_where_none_can_stand_is_told_and_not_taken(firm):
    firm.write("installs.csv", INSTALLS.replace("Birch", "").replace("width_mm", "storey"))
    firm.take_in()
    with corrected(firm.out / BOOK, "installs") as sheet:
        sheet.put(0, storey=date(2025, 2, 1))
    assert firm.take_in().notes == [
        "set_aside.xlsx, sheet installs, row 2, storey: this is a date and must be none; write it as text.",
        "set_aside.xlsx as it was saved is kept as set_aside not taken.xlsx.",
    ]
    assert firm.ask("FROM corrections") == []


def test_two_lines_of_one_row_that_say_different_things_are_told_and_kept_in_a_copy(firm):
    firm.write("installs.csv", INSTALLS.replace("Birch", ""))
    firm.take_in()
    with corrected(firm.out / BOOK, "installs") as sheet:
        sheet.sheet.append([cell.value for cell in sheet.sheet[2]])
        sheet.put(0, crew="Birch")
        sheet.put(1, crew="Cedar")
    assert firm.take_in().notes[0] == (
        "set_aside.xlsx, sheet installs, row 3: set_aside.xlsx, sheet installs, row 2 corrects the same row otherwise; "
        "keep one of the two."
    )
    assert firm.ask("FROM corrections") == []
    assert [line["crew"] for line in read(firm.out / "set_aside not taken.xlsx", "installs").lines] == [
        "Birch",
        "Cedar",
    ]
    with corrected(firm.out / BOOK, "installs") as sheet:
        sheet.sheet.append([cell.value for cell in sheet.sheet[2]])
        sheet.put(1, crew="Cedar")  # the other line was left as it is
    firm.take_in()
    assert firm.ask("SELECT crew FROM installs WHERE install_id = 'D2'") == [("Cedar",)]


def test_a_line_of_no_row_and_a_personal_column_are_told(firm):
    firm.write("installs.csv", INSTALLS.replace("Birch", ""))
    firm.take_in()
    with corrected(firm.out / BOOK, "installs") as sheet:
        sheet.sheet.append(["", "installs.csv", "", 77])
        sheet.sheet.cell(1, len(sheet.columns) + 1).value = "customer"
    notes = firm.take_in().notes
    assert notes[:2] == [
        "set_aside.xlsx, sheet installs: column customer not read; mend it in the file.",
        "set_aside.xlsx, sheet installs, row 3: no such row was set aside; copy the line from the newest workbook.",
    ]


def test_a_workbook_that_is_none_any_more_is_told_kept_and_written_anew(firm):
    firm.write("installs.csv", INSTALLS.replace("Birch", ""))
    firm.take_in()
    (firm.out / BOOK).write_bytes(b"not a workbook")
    assert firm.take_in().notes == [
        "set_aside.xlsx cannot be read, nothing was taken from it; save it as .xlsx and run again.",
        "set_aside.xlsx as it was saved is kept as set_aside not taken.xlsx.",
    ]
    assert len(read(firm.out / BOOK, "installs").lines) == 1
    assert firm.take_in().notes == []
