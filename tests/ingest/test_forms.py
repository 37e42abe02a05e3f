"""One firm, many forms: CSV however written, XLSX of both epochs, Parquet, JSON lines, give the same records."""

import re
import zipfile
from datetime import date, datetime

import openpyxl
import polars as pl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from pipeline.ingest.records import RECORDS

INSTALLS = pl.DataFrame(
    {
        "install_id": ["D1", "1024", "Dé3"],
        "crew": ["Alder", "Birch", "Alder"],
        "leaves": [4, 3, None],
        "width_mm": [4000.0, 2999.5, None],
        "work": ["New", "replacement", None],
        "fitted_on": [date(2025, 1, 10), date(2024, 2, 29), date(2025, 3, 1)],
        "customer": ["Mx Invented", "-5 Ltd", None],
    }
)
READINGS = pl.DataFrame(
    {
        "install_id": ["D1", "D1", "1024", "Dé3", "D1", "D1"],
        "measure": ["frame width", "sill_height", "temperature", "jamb_face", "fixing", "running_force"],
        "member": [None, None, None, "Left Jamb", "head", "leaf 02"],
        "position_mm": [None, 250.0, None, 2100.0, None, None],
        "value": [157.5, -0.0, 68.0, 1.5, 150.0, 20.25],
        "unit": ["inches", "mm", "F", "mm/m", "mm", "N"],
        "read_on": [date(2025, 1, 10), None, date(2024, 2, 29), date(2025, 3, 1), date(2025, 1, 9), None],
    }
)
TABLES = {"installs": INSTALLS, "readings": READINGS}


def as_csv(table: pl.DataFrame, separator: str = ",") -> str:
    return table.write_csv(separator=separator)


def write_workbook(path, table, epoch=None, title="Sheet"):
    workbook = openpyxl.Workbook()
    if epoch:
        workbook.epoch = epoch
    sheet = workbook.active
    sheet.title = title
    sheet.append(table.columns)
    for row in table.rows():
        sheet.append(row)
    workbook.save(path)


def contents(firm):
    firm.take_in()
    records = {record.name: sorted(map(repr, firm.ask(f"FROM {record.name}"))) for record in RECORDS}
    where = firm.ask('SELECT "row", raw, state FROM readings_history ORDER BY 1')
    return records, where, firm.people("FROM install_people ORDER BY ALL")


@pytest.fixture
def expected(new_firm):
    firm = new_firm("expected")
    for name, table in TABLES.items():
        firm.write(f"{name}.csv", as_csv(table))
    found = contents(firm)
    assert firm.set_aside() == []
    assert firm.ask("SELECT round(value, 6) FROM readings ORDER BY 1") == [
        (0.0,),
        (3.15,),
        (20.0,),
        (20.25,),
        (150.0,),
        (4000.5,),
    ]
    return found


CSV_FORMS = {
    "byte order mark": lambda text: b"\xef\xbb\xbf" + text.encode(),
    "utf-16": lambda text: text.encode("utf-16"),
    "western European": lambda text: text.encode("cp1252"),
    "carriage returns": lambda text: text.replace("\n", "\r\n").encode(),
    "old line ends": lambda text: text.replace("\n", "\r").encode(),
    "semicolons": lambda text: text.replace(",", ";").encode(),
    "tabs": lambda text: text.replace(",", "\t").encode(),
    "quotes": lambda text: "\n".join(
        ",".join(f'"{cell}"' if cell else "" for cell in line.split(",")) for line in text.split("\n")
    ).encode(),
    "capital header": lambda text: re.sub("^.*", lambda row: row[0].upper().replace(",", " ,"), text, count=1).encode(),
    "no last line end": lambda text: text.rstrip("\n").encode(),
    "times of day": lambda text: text.replace("2025-01-10", "2025-01-10T23:59:59+02:00").encode(),
    "our own apostrophes": lambda text: text.replace("-5 Ltd", "'-5 Ltd").encode(),
}  # fmt: skip


@pytest.mark.parametrize("form", CSV_FORMS)
def test_csv_however_written_gives_the_same_records(new_firm, expected, form):
    firm = new_firm(form)
    for name, table in TABLES.items():
        firm.write(f"{name}.csv", CSV_FORMS[form](as_csv(table)))
    assert contents(firm) == expected


def test_a_guess_of_the_encoding_is_said(new_firm):
    firm = new_firm("guess")
    firm.write("installs.csv", as_csv(INSTALLS).encode("cp1252"))
    assert "read as Western European text" in firm.take_in().notes[0]


@pytest.mark.parametrize("epoch", [None, CALENDAR_MAC_1904])
def test_workbooks_of_both_epochs_give_the_same_records(new_firm, expected, epoch):
    firm = new_firm("xlsx")
    for name, table in TABLES.items():
        write_workbook(firm.folder / f"{name} 2025.XLSX", table, epoch)
    assert contents(firm) == expected


def test_parquet_gives_the_same_records(new_firm, expected):
    firm = new_firm("parquet")
    INSTALLS.write_parquet(firm.folder / "installs.parquet")
    days = READINGS.with_columns(pl.col("read_on").cast(pl.Datetime).dt.replace_time_zone("Pacific/Auckland"))
    days.with_columns(pl.col("value").cast(pl.Float32)).write_parquet(firm.folder / "readings_all.parquet")
    assert contents(firm) == expected


def test_json_lines_give_the_same_records(new_firm, expected):
    firm = new_firm("jsonl")
    for name, table in TABLES.items():
        table.write_ndjson(firm.folder / f"{name} 2025.jsonl")
    records, where, people = contents(firm)
    # they have no header, so their first row is line 1
    assert (records, [(row + 1, raw, state) for row, raw, state in where], people) == expected


def test_every_visible_sheet_with_the_columns_is_read_and_says_its_name(firm):
    path = firm.folder / "readings.xlsx"
    write_workbook(path, READINGS.head(1), title="January")
    workbook = openpyxl.load_workbook(path)
    february = workbook.create_sheet("February")
    february["B3"], february["C3"], february["D3"], february["E3"] = "install_id", "measure", "value", "unit"
    february["B5"], february["C5"], february["D5"], february["E5"] = "D2", "frame_width", "wide", "mm"
    february["B6"], february["C6"], february["D6"], february["E6"] = "D2", "frame_width", 3000, "mm"
    workbook.create_sheet("Legend")["A1"] = "colours"
    hidden = workbook.create_sheet("Hidden")
    hidden.append(["install_id", "measure", "value", "unit"])
    hidden.append(["D2", "frame_width", 2000, "mm"])
    hidden.sheet_state = "hidden"
    workbook.save(path)
    (firm.folder / "readings.csv").unlink()
    notes = firm.take_in().notes
    assert notes == [
        "readings.xlsx taken in: sheet Legend not read: its first row does not hold the columns of readings."
    ]
    assert firm.ask('SELECT sheet, "row", value FROM readings_history ORDER BY 1') == [
        ("February", 6, 3000.0),
        ("January", 2, 4000.5),
    ]
    assert firm.ask('SELECT sheet, "row", "column", "value" FROM rejections') == [("February", 5, "value", "wide")]


def test_serial_numbers_and_times_in_a_date_column(new_firm):
    firm = new_firm("serials")
    write_workbook(
        firm.folder / "installs.xlsx",
        pl.DataFrame(
            {
                "install_id": ["a", "b", "c"],
                "crew": ["x"] * 3,
                "fitted_on": pl.Series([45667, 45667.99, datetime(2025, 1, 10, 23, 59)], dtype=pl.Object),
            }
        ),
    )
    firm.take_in()
    # 45667 is 10 January 2025 in the 1900 system (ECMA-376, part 1, 18.17.4)
    assert firm.ask("SELECT DISTINCT fitted_on FROM installs") == [(date(2025, 1, 10),)]


def test_a_workbook_that_unpacks_beyond_all_measure_is_refused(firm, monkeypatch):
    monkeypatch.setattr("pipeline.ingest.files.workbook_size.LARGEST_UNPACKED", 1000)
    write_workbook(firm.folder / "checks.xlsx", READINGS)
    firm.take_in()
    assert firm.reasons() == ["the workbook is too large unpacked; save its rows as CSV"]


def put_cell(path, cell: str) -> None:
    """Puts a cell, as XML, into a last row of the first sheet of a workbook."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    name = next(name for name in parts if name.startswith("xl/worksheets/"))
    row = f'<row r="1048576">{cell}</row></sheetData>'.encode()
    parts[name] = parts[name].replace(b"</sheetData>", row)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            archive.writestr(name, text)


@pytest.mark.parametrize("cell", ['<c r="XFD1048576"><v>1</v></c>', "<c s='0' r = 'XFD1048576' t='n'><v>1</v></c>"])
def test_a_stray_cell_in_the_last_corner_refuses_its_file_and_takes_no_memory(firm, cell):
    write_workbook(firm.folder / "checks.xlsx", READINGS)
    put_cell(firm.folder / "checks.xlsx", cell)
    firm.take_in()
    assert firm.reasons() == [
        "its cells reach as far as XFD1048576; delete the stray ones to the right and below, or save the rows as CSV"
    ]


def test_a_cell_far_out_that_holds_nothing_but_a_style_does_no_harm(firm):
    (firm.folder / "readings.csv").unlink()
    write_workbook(firm.folder / "readings.xlsx", READINGS)
    put_cell(firm.folder / "readings.xlsx", '<c r="XFD1048576" s="0"/>')
    before = firm.take_in()
    assert before.accounts["readings"].read == READINGS.height
