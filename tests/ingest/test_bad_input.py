"""Every bad input gives one clear sentence and loses nothing."""

import io
import os
import random
import sys
from pathlib import Path

import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from pipeline.errors import UserError
from pipeline.ingest.files.unread import unread_lines

# How a compound file begins: a workbook of the old form, or one under a password (MS-CFB 2.2, from memory).
COMPOUND = bytes.fromhex("D0CF11E0A1B11AE1") + bytes(504)


def no_text_in_parquet():
    """A Parquet file of readings in which one text is not UTF-8."""
    cells = {"install_id": b"D1", "measure": b"frame_width", "value": b"3\xff\xfe", "unit": b"mm"}
    columns = [pa.Array.from_buffers(pa.string(), 1, pa.array([cell]).buffers()) for cell in cells.values()]
    file = io.BytesIO()
    pq.write_table(pa.table(columns, list(cells)), file)
    return file.getvalue()


def sentence(firm):
    with pytest.raises(UserError) as caught:
        firm.take_in()
    text = str(caught.value)
    assert "\n" not in text
    assert text.endswith(".")
    return text


def test_an_empty_folder(empty_firm):
    assert "holds no file of records; put installs.csv into it" in sentence(empty_firm)


def test_a_folder_without_any_record(empty_firm):
    empty_firm.write("instals.csv", "a\n1\n")
    text = sentence(empty_firm)
    assert "holds no file of records" in text
    assert "did you mean installs.csv?" in text
    assert "run fitback match on your own sheets" in text


@pytest.mark.parametrize("name", ["Door list 2025.csv", "callbaks.csv", "Service calls.xlsx"])
def test_a_folder_of_own_sheets_names_what_reads_them(empty_firm, name):
    empty_firm.write(name, "a\n1\n")
    assert "run fitback match on your own sheets, or put installs.csv into it" in sentence(empty_firm)
    empty_firm.write("installs.csv", "install_id,crew,fitted_on\nU1,Elm,2025-01-10\n")
    (note,) = empty_firm.take_in().notes
    assert "fitback match reads a firm's own sheets" in note


def test_no_installs(empty_firm):
    empty_firm.write("callbacks.csv", "callback_id,reported_on\nC1,2025-01-01\n")
    assert sentence(empty_firm) == "There is no door: put installs.csv into the folder, with one row per door fitted."


def test_no_door_left(empty_firm):
    empty_firm.write("installs.csv", "install_id,crew,fitted_on\nD1,Alder,31/02/2025\nD2,,2025-01-01\n")
    text = sentence(empty_firm)
    assert text.startswith("No door could be taken in: installs.csv, row 2, column fitted_on: ")
    assert "(1 more in installs)" in text


def test_no_door_left_of_a_workbook_names_its_sheet(empty_firm):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Spring"
    for cells in (["install_id", "crew", "fitted_on"], ["D1", "Alder", "31/02/2025"]):
        sheet.append(cells)
    book.save(empty_firm.folder / "installs.xlsx")
    told = "No door could be taken in: installs.xlsx, sheet Spring, row 2, column fitted_on: "
    assert sentence(empty_firm).startswith(told)


def test_a_missing_column_refuses_its_file_only(firm):
    firm.write("readings.csv", "install_id,measure,value\nD1,frame_width,3000\n")
    intake = firm.take_in()
    assert firm.set_aside() == [("readings.csv", None, None, None, "file")]
    assert intake.notes == ["readings.csv refused: the column 'unit' is missing; add it to the first row."]
    assert firm.account("installs") == (2, 2, 0, 0)


def test_a_misspelt_column_is_named(firm):
    firm.write("readings.csv", "install_id,measure,value,units\nD1,frame_width,3000,mm\n")
    firm.take_in()
    assert firm.reasons() == ["the column 'unit' is missing; 'units' looks like unit, rename it"]


def test_a_column_that_stands_twice(firm):
    firm.write("readings.csv", "install_id,measure,value,unit,Value\nD1,frame_width,3000,mm,4\n")
    firm.take_in()
    assert firm.reasons() == ["the column 'value' stands twice in the first row; keep one"]


def test_columns_the_record_does_not_have_are_named(firm):
    firm.write("installs.csv", "install_id,crew,fitted_on,handed_over,van\nD1,Alder,2025-01-01,2025-01-02,7\n")
    assert unread_lines(firm.take_in().unread) == [
        "Columns not read, so in no number:",
        "  installs.csv: 'handed_over': installs has no such column; did you mean handed_over_on?",
        "  installs.csv: 'van': installs has no such column; rename it, or leave it out under [ignore] in fitback.toml",
    ]


BAD_READINGS = [
    ("D1,frame_width,3,furlong,", "unit", "'furlong' is not a unit we know; write mm, cm, m, in or ft"),
    ("D1,running_force,3,mm,", "unit", "running_force is not measured in mm; write N, kN, kgf or lbf"),
    ("D1,frame_widht,3000,mm,", "measure", "'frame_widht' is not one of the known measures; write frame_width"),
    ("D9,frame_width,3000,mm,", "install_id", "no door D9 in installs; add the door or correct the install_id"),
    ("D1,frame_width,ok,furlong,", "unit", "'furlong' is not a unit we know; write mm, cm, m, in or ft"),
    ("D1,frame_width,inf,mm,", "value", "this is not a number"),
    ("D1,frame_width,1e999,mm,", "value", "the number is too large to be true"),
    ("D1,frame_width,true,mm,", "value", "this is not a number"),
    ("D1,frame_width,3000cm,mm,", "value", "the cell says cm and its unit column mm; correct one of them"),
    ("D1,frame_width,-3000,mm,", "value", "this cannot be negative"),
    ("D1,frame_width,3,mm,", "value", "this is not plausible; expected 300 to 20,000 mm"),
    ("D1,jamb_face,60,deg,", "value", "this is not plausible; expected a lean of at most 200 mm/m, which is 11 deg"),
    (",frame_width,3000,mm,", "install_id", "this must not be empty"),
    ("D1,fixing,100,,", "unit", "this must not be empty; fill it in; mm, cm or in would be plausible"),
    (
        "D1,x,3000,,",
        "measure",
        "'x' is not one of the known measures; fitback knows 23 measures, none is near; README lists the words; "
        "unit: this",
    ),
]


def test_a_bad_required_cell_sets_its_row_aside(firm):
    rows = ["install_id,measure,value,unit,read_on", *(cells for cells, _, _ in BAD_READINGS)]
    firm.write("readings.csv", "\n".join([*rows, "D1,frame_width,3000,mm,"]))
    firm.take_in()
    found = firm.ask('SELECT "row", "column", reason, scope FROM rejections ORDER BY 1')
    for number, (_, column, reason) in enumerate(BAD_READINGS):
        assert found[number][:2] == (number + 2, column)
        assert found[number][2].startswith(reason)
        assert found[number][3] == "row"
    assert firm.account("readings") == (len(BAD_READINGS) + 1, 1, len(BAD_READINGS), 0)


def test_a_bad_optional_date_is_left_empty_and_listed(firm):
    days = ["31/02/2025", "2025-02-31", "24-01-25", "1.2.2025", "yesterday", "2025-13-01", "20253101"]
    rows = [f"D1,frame_width,3000,mm,{day},{day}" for day in days]
    firm.write("readings.csv", "install_id,measure,value,unit,read_on,read_by\n" + "\n".join(rows))
    firm.take_in()
    assert firm.set_aside() == [("readings.csv", row, "read_on", day, "cell") for row, day in enumerate(days, start=2)]
    assert firm.ask("SELECT count(*), count(read_on) FROM readings") == [(len(days), 0)]


def test_a_bad_optional_cell_of_a_door_leaves_the_door_in(firm):
    cells = {
        "width_mm": ["-4000", "4.2"], "height_mm": ["99999"], "leaves": ["2.5", "40"], "leaf_weight_kg": ["heavy"],
        "work": ["repair"], "colour": ["blue"], "removed_on": ["soon"],
    }  # fmt: skip
    rows = [
        [f"D{column} {cell}", "Alder", "2025-01-10", *(cell if other == column else "" for other in cells)]
        for column, bad in cells.items()
        for cell in bad
    ]
    header = ["install_id", "crew", "fitted_on", *cells]
    firm.write("installs.csv", "\n".join(map(",".join, [header, *rows])))
    firm.write("readings.csv", "install_id,measure,value,unit\n")
    firm.take_in()
    expected = [(column, cell) for column, bad in cells.items() for cell in bad]
    assert [(column, cell) for _, _, column, cell, scope in firm.set_aside() if scope == "cell"] == expected
    assert firm.account("installs") == (len(expected), len(expected), 0, 0)
    (emptied,) = firm.ask(f"SELECT {', '.join(f'count({column})' for column in cells)} FROM installs")
    assert set(emptied) == {0}


def test_unknown_words_name_the_nearest_known_ones(firm):
    firm.write(
        "checks.csv", "install_id,check,outcome\nD1,sill_beded,pass\nD1,sill_bedded,perhaps\nD1,Sill Bedded, PASS \n"
    )
    firm.write("training.csv", "crew,step,trained_on\nAlder,glasing,2025-01-01\n")
    firm.write(
        "callbacks.csv", "callback_id,reported_on,fault\nC1,2025-01-01,binding; Dropped Leaf\nC2,2025-01-01,bindin\n"
    )
    firm.take_in()
    assert sorted(firm.reasons()) == [
        "'bindin' is not one of the known faults; write binding (sticks or rubs); README lists the words",
        "'glasing' is not one of the known steps; write glazing",
        "'perhaps' is not one of the known outcomes; write pass, fail or not_applicable",
        "'sill_beded' is not one of the known checks; write sill_bedded (fail: sill not supported along its full "
        "length); README lists the words",
    ]
    assert firm.ask("SELECT fault FROM callbacks ORDER BY callback_id") == [("binding;dropped_leaf",), (None,)]
    assert firm.ask('SELECT "check", outcome FROM checks') == [("sill_bedded", "pass")]


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("readings.csv", b"", "the file is empty"),
        ("readings.csv", b"\n \n", "the file is empty"),
        ("readings.csv", random.Random(1).randbytes(5000), "this is not text"),
        ("readings.csv", b"install_id,measure,value,unit\nD1,frame_width,3\x000,mm\n", "this is not text"),
        (
            "readings.csv",
            b"install_id,measure,value,unit" + b"," * 20_000 + b"\n",
            "row 1 has 20,004 columns, more than",
        ),
        ("readings.csv", b"PK\x03\x04 and so on", "this is not CSV but a workbook; give it the ending .xlsx"),
        ("readings.xlsx", b"", "the file is empty"),
        ("readings.xlsx", b"install_id,measure,value,unit\n", "this is not a workbook but text"),
        ("readings.xlsx", b"<html><table>", "this is a web page under the name of a workbook"),
        ("readings.xlsx", COMPOUND + "Workbook".encode("utf-16-le"), "this is a workbook of the old form"),
        ("readings.xlsx", COMPOUND + "EncryptedPackage".encode("utf-16-le"), "the workbook is locked by a password"),
        ("readings.xlsx", random.Random(1).randbytes(5000), "this is not a workbook"),
        ("readings.xlsx", b"PK\x03\x04" + random.Random(1).randbytes(5000), "this is not a workbook"),
        ("readings.parquet", b"", "the file is empty"),
        ("readings.parquet", b"PAR1 but not really PAR1", "this is not a Parquet file"),
        ("readings.parquet", no_text_in_parquet(), "the file is damaged"),
        ("readings.parquet", no_text_in_parquet().replace(b"measure", b"\x8feasure"), "this is not a Parquet file"),
    ],
)
def test_a_file_that_is_not_what_it_says_is_refused_in_one_line(firm, name, content, words):
    (firm.folder / "readings.csv").unlink()
    firm.write(name, content)
    firm.take_in()
    assert firm.set_aside() == [(name, None, None, None, "file")]
    assert words in firm.reasons()[0]
    assert firm.ask(f"SELECT status, rows_read FROM files WHERE file = '{name}'") == [("refused", 0)]


def test_a_file_that_cannot_be_opened_is_refused(firm):
    (firm.folder / "readings.csv").unlink()
    (firm.folder / "readings.csv").symlink_to(firm.folder / "gone.csv")
    firm.take_in()
    assert firm.set_aside() == [("readings.csv", None, None, None, "file")]
    assert "cannot be opened" in firm.reasons()[0]


def test_a_refused_file_keeps_its_rows_of_the_time_before(firm):
    firm.take_in()
    firm.write("readings.csv", b"")
    notes = firm.take_in().notes
    assert firm.ask("SELECT count(*) FROM readings") == [(3,)]
    assert "its rows of the time before are kept" in notes[0]


def test_what_is_not_read_is_listed(firm):
    (firm.folder / "old").mkdir()
    firm.write("notes.txt", "x")
    firm.write("readings.xls", "x")
    firm.write("reading.csv", "x")
    notes = firm.take_in().notes
    assert [note.split(":")[0] for note in notes] == [
        f"{name} not read" for name in ("notes.txt", "old", "reading.csv", "readings.xls")
    ]
    assert "save it as one of them" in notes[3]


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="pipes, devices and any bytes as names")
def test_what_might_never_end_or_has_no_name_in_text_is_not_read(firm):
    os.mkfifo(firm.folder / "checks.csv")
    (firm.folder / "callbacks.csv").symlink_to("/dev/zero")
    (Path(os.fsdecode(os.fsencode(firm.folder) + b"/readings \xff.csv"))).write_text("x")
    notes = firm.take_in().notes
    assert notes == [
        "callbacks.csv not read: a pipe or a device, not a file.",
        "checks.csv not read: a pipe or a device, not a file.",
        "readings \ufffd.csv not read: its name is not written in UTF-8; rename it.",
    ]


def test_what_is_there_for_people_or_hidden_is_passed_over(firm):
    for name in ("README", "readme.TXT", "ReadMe first.csv", ".hidden.csv", "Thumbs.db", "desktop.ini"):
        firm.write(name, "x")
    assert firm.take_in().notes == []


def test_a_note_that_asks_ends_as_a_question(firm):
    firm.write("instals.csv", "x")
    (note,) = firm.take_in().notes
    assert note.endswith("did you mean installs.csv?")


def test_what_is_read_is_told_before_it_is_read(firm):
    firm.take_in()
    firm.take_in()
    firm.write("crews.csv", "crew\nAlder\nBirch\n")
    firm.take_in()
    assert firm.said == [
        "Reading 2 files.",
        "No file to read; 2 unchanged since the last run.",
        "Reading 1 file; 2 unchanged since the last run.",
    ]


def test_rows_longer_or_shorter_than_the_header(firm):
    firm.write(
        "readings.csv",
        "install_id,measure,value,unit\nD1,frame_width,3000\nD1,frame_width,3000,mm,x\nD1,frame_width,3000,mm,,\n\n,,,\n",
    )
    firm.take_in()
    assert firm.set_aside() == [("readings.csv", 2, None, None, "row"), ("readings.csv", 3, None, None, "row")]
    assert firm.account("readings") == (3, 1, 2, 0)


def test_a_quote_that_never_closes_costs_one_row(firm):
    firm.write("readings.csv", 'install_id,measure,value,unit\n"D1,frame_width,3000,mm\nD2,frame_width,3000,mm\n')
    firm.take_in()
    assert firm.set_aside() == [("readings.csv", 2, None, None, "row")]
    assert firm.ask("SELECT install_id FROM readings") == [("D2",)]


def test_a_second_run_at_the_same_time_waits_and_then_says_why_not(firm, monkeypatch):
    import subprocess
    import sys

    firm.take_in()
    holder = subprocess.Popen(
        [sys.executable, "-c",
         "import sys, duckdb; c = duckdb.connect(sys.argv[1]); print('held', flush=True); sys.stdin.read()",
         str(firm.out / "records.duckdb")],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE,
    )  # fmt: skip
    try:
        assert holder.stdout.readline().strip() == b"held"
        monkeypatch.setattr("pipeline.ingest.history.store.LOCK_WAIT_SECONDS", 0.1)
        assert "is open in another program" in sentence(firm)
    finally:
        holder.communicate()
    firm.take_in()


def test_records_that_are_no_database(firm):
    firm.out.mkdir()
    (firm.out / "records.duckdb").write_bytes(b"not a database" * 1000)
    assert "move it away and run again" in sentence(firm)
