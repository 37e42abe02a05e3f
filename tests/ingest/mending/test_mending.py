"""Rows that were set aside, corrected in the workbook, come in once, until their file says otherwise."""

from datetime import date

import openpyxl
import pytest

from pipeline.ingest.mending.book import BOOK
from tests.ingest.conftest import INSTALLS, READINGS
from tests.ingest.mending.books import corrected, opened, read

BAD = READINGS + "D1,sill_height,sill,2000,abc,mm\nD1,sill_height,sill,3000,14,furlong\n"
PERSONAL = """
install_id,crew,fitted_on,leaves,customer,address,postcode
D1,Alder,2025-01-10,4,Anna Example,12 Elm Road,ZZ1 1EX
D2,Birch,10 Smarch,many,Carol Invent,9 Oak Close,ZZ3 3EX
D3,Birch,2025-02-10,many,Erik Madeup,1 Ash Lane,ZZ4 4EX
"""


@pytest.fixture
def bad(firm):
    """Two readings are set aside: rows 5 (value) and 6 (unit)."""
    firm.write("readings.csv", BAD)
    firm.take_in()
    return firm


def ledger(firm):
    return firm.ask(
        'SELECT record, file, "row", "column", "before", "after", superseded_by FROM correction_ledger '
        "ORDER BY correction"
    )


def values(firm):
    return firm.ask("SELECT position_mm, value FROM readings WHERE measure = 'sill_height' ORDER BY position_mm")


def files_as_they_are(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_line_shows_the_row_as_written_its_reason_and_the_cell_at_fault(bad):
    sheet = read(bad.out / BOOK, "readings")
    first, second = sheet.lines
    assert (first["file"], first["sheet"], first["row"]) == ("readings.csv", None, 5)
    assert [first[name] for name in ("install_id", "measure", "position_mm", "value", "unit")] == [
        *("D1", "sill_height", "2000", "abc", "mm")
    ]
    assert "value: this is not a number" in first["reason"]
    assert [sheet.at_fault(line) for line in (0, 1)] == [["value"], ["unit"]]
    assert second["unit"] == "furlong"


def test_a_corrected_row_comes_in_once_and_leaves_the_workbook(bad):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
    before = files_as_they_are(bad.folder)
    for _ in range(3):
        bad.take_in()
        assert values(bad) == [(0, 12.0), (1000, 13.5), (2000, 13.0)]
        assert bad.account("readings") == (5, 4, 1, 0)
        assert ledger(bad) == [("readings", "readings.csv", 5, "value", "abc", "13", None)]
        assert [line["row"] for line in read(bad.out / BOOK, "readings").lines] == [6]
    assert files_as_they_are(bad.folder) == before


def test_running_again_without_a_change_writes_nothing_anew(bad):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
    bad.take_in()
    book, loads = (bad.out / BOOK).read_bytes(), bad.ask("FROM loads ORDER BY load")
    bad.take_in()
    assert (bad.out / BOOK).read_bytes() == book
    assert bad.ask("FROM loads ORDER BY load") == loads


def test_the_workbook_goes_when_nothing_is_set_aside_any_more_and_the_rows_stay_in(bad):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
        sheet.put(1, unit="mm")
    bad.take_in()
    assert not (bad.out / BOOK).exists()
    bad.take_in()
    assert bad.account("readings") == (5, 5, 0, 0)


def test_a_row_that_is_still_bad_comes_back_with_the_persons_text_and_the_new_reason(bad):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="99999")
    bad.take_in()
    sheet = read(bad.out / BOOK, "readings")
    assert sheet.lines[0]["value"] == "99999"
    assert "not plausible" in sheet.lines[0]["reason"]
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
    bad.take_in()
    assert (2000, 13.0) in values(bad)
    assert ledger(bad) == [
        ("readings", "readings.csv", 5, "value", "abc", "99999", "a later correction"),
        ("readings", "readings.csv", 5, "value", "99999", "13", None),
    ]


def test_going_back_and_forth_is_a_correction_each_time(bad):
    for text in ("99999", "abc", "99999", "13"):
        with corrected(bad.out / BOOK, "readings") as sheet:
            sheet.put(0, value=text)
        bad.take_in()
    assert [row[5] for row in ledger(bad)] == ["99999", "abc", "99999", "13"]
    assert (2000, 13.0) in values(bad)


def test_a_bad_cell_of_a_row_that_is_in_is_mended_or_accepted_as_empty(firm):
    firm.write("installs.csv", INSTALLS.replace("4000", "wide").replace("3000", "4 or 5"))
    firm.take_in()
    with corrected(firm.out / BOOK, "installs") as sheet:
        assert [sheet.at_fault(line) for line in (0, 1)] == [["width_mm"], ["width_mm"]]
        sheet.put(0, width_mm=4000)
        sheet.put(1, width_mm=None)
    firm.take_in()
    assert firm.ask("SELECT install_id, width_mm FROM installs ORDER BY 1") == [("D1", 4000.0), ("D2", None)]
    assert firm.set_aside() == []
    assert ledger(firm)[1][4:6] == ("4 or 5", None)


def test_a_mended_door_brings_in_what_hangs_on_it(firm):
    firm.write("installs.csv", INSTALLS.replace("2025-02-10", "10 Smarch"))
    firm.take_in()
    lines = read(firm.out / BOOK, "readings").lines
    assert [line["reason"].split(";")[0] for line in lines] == [
        "install_id: door D2 is set aside (installs.csv, row 3)"
    ]
    with corrected(firm.out / BOOK, "installs") as sheet:
        sheet.put(0, fitted_on=date(2025, 2, 10))
    firm.take_in()
    assert firm.set_aside() == []
    assert firm.account("readings") == (3, 3, 0, 0)


def test_nothing_personal_stands_in_the_workbook_and_a_mended_row_keeps_its_people(firm):
    firm.write("installs.csv", PERSONAL)
    firm.take_in()
    book = openpyxl.load_workbook(firm.out / BOOK)
    texts = {str(cell) for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row}
    assert not [text for text in texts if any(word in text for word in ("Carol", "Oak", "ZZ3", "Erik"))]
    assert not {"customer", "address", "postcode"} & set(read(firm.out / BOOK, "installs").columns)
    with corrected(firm.out / BOOK, "installs") as sheet:
        sheet.put(0, fitted_on="2025-03-10", leaves="3")
    firm.take_in()
    assert firm.people("SELECT customer, postcode FROM install_people WHERE install_id = 'D2'") == [
        ("Carol Invent", "ZZ3 3EX")
    ]
    with_people = ("shown_lines", "refused_texts", "corrections")
    assert not [table for table in with_people if "Carol" in repr(firm.ask(f"FROM {table}"))]


def test_a_row_of_the_wrong_length_is_written_into_an_empty_line(firm):
    firm.write("readings.csv", READINGS + "D1,sill_height,sill,2000,14,mm,mm\n")
    firm.take_in()
    with corrected(firm.out / BOOK, "readings") as sheet:
        assert sheet.lines[0]["value"] is None
        sheet.put(0, install_id="D1", measure="sill_height", member="sill", position_mm=2000, value=14, unit="mm")
    firm.take_in()
    assert (2000, 14.0) in values(firm)
    assert firm.account("readings") == (4, 4, 0, 0)
    firm.take_in()
    assert firm.account("readings") == (4, 4, 0, 0)


def test_contradicting_rows_are_mended_by_making_them_say_the_same(firm):
    firm.write("readings.csv", READINGS + "D1,sill_height,sill,1000,13.9,mm\n")
    firm.take_in()
    assert firm.account("readings") == (4, 2, 2, 0)
    with corrected(firm.out / BOOK, "readings") as sheet:
        sheet.put(1, value="13.5")
    firm.take_in()
    assert firm.account("readings") == (4, 3, 0, 1)
    firm.take_in()
    assert firm.account("readings") == (4, 3, 0, 1)


def test_a_column_that_the_file_does_not_have_can_be_filled_in(firm):
    firm.write("readings.csv", READINGS + "D1,jamb_edge,left_jamb,,0.1,deg\nD3,frame_width,,,3000,mm\n")
    firm.write("installs.csv", "install_id,crew,fitted_on\nD1,Alder,2025-01-10\nD2,Birch,2025-02-10\n")
    firm.take_in()
    with corrected(firm.out / BOOK, "readings") as sheet:
        sheet.put(0, position_mm=2100, read_by="Alder")
        sheet.put(1, install_id="D2", read_by="Birch", position_mm="0")
    firm.take_in()
    assert firm.set_aside() == []
    assert firm.ask("SELECT read_by, position_mm FROM readings WHERE read_by IS NOT NULL ORDER BY 1") == [
        *(("Alder", 2100.0), ("Birch", 0.0))
    ]


def test_the_ledger_names_who_was_written_beside_the_row_else_who_runs(bad, monkeypatch):
    monkeypatch.setenv("LOGNAME", "keeper")
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13", who="Alder")
        sheet.put(1, unit="mm")
    bad.take_in()
    assert bad.ask("SELECT who FROM corrections ORDER BY correction") == [("Alder",), ("keeper",)]


def test_a_file_that_comes_with_the_row_changed_counts_more_than_the_correction(bad):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
        sheet.put(1, unit="mm")
    bad.take_in()
    bad.write("readings.csv", BAD.replace("abc", "12.9"))
    notes = bad.take_in().notes
    assert notes == [
        "readings.csv taken in: 1 correction no longer counts, as the file came with what they mend changed."
    ]
    assert (2000, 12.9) in values(bad)
    assert (3000, 14.0) in values(bad)  # its row came as it was
    assert [row[6] for row in ledger(bad)] == ["the file, delivered with this row changed", None]
    loads = bad.ask("FROM loads ORDER BY load")
    assert bad.take_in().notes == []
    assert bad.ask("FROM loads ORDER BY load") == loads


def test_a_row_that_is_gone_from_the_file_takes_its_correction_with_it(bad):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
    bad.take_in()
    bad.write("readings.csv", READINGS)
    bad.take_in()
    assert bad.account("readings") == (3, 3, 0, 0)
    assert [row[6] for row in ledger(bad)] == ["the file, delivered with this row changed"]


@pytest.mark.parametrize(
    "above", ["D1,frame_width,,,3999,mm\n", "D1,frame_width,,,3999,mm\nD1,frame_height,,,2100,mm\n"]
)
def test_a_row_that_stands_elsewhere_in_the_file_is_followed(bad, above):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
        sheet.put(1, unit="mm")
    bad.take_in()
    header, rest = BAD.lstrip().split("\n", 1)
    bad.write("readings.csv", f"{header}\n{above}{rest}")
    for _ in range(2):
        assert bad.take_in().notes == []
        assert values(bad) == [(0, 12.0), (1000, 13.5), (2000, 13.0), (3000, 14.0)]
        n_above = above.count("\n")
        assert [row[2] for row in ledger(bad)] == [5 + n_above, 6 + n_above]
    assert [row[6] for row in ledger(bad)] == [None, None]


def test_a_row_that_stands_twice_elsewhere_is_not_followed(bad):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
    bad.take_in()
    twice = "D1,sill_height,sill,2000,abc,mm\n" * 2
    bad.write("readings.csv", READINGS + "D2,frame_height,,,2001,mm\n" + twice)
    bad.take_in()
    assert [row[6] for row in ledger(bad)] == ["the file, delivered with this row changed"]


def test_an_old_workbook_put_back_corrects_nothing_that_the_file_has_changed_since(bad):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
    old = (bad.out / BOOK).read_bytes()
    bad.take_in()
    bad.write("readings.csv", BAD.replace("abc", "12.9"))
    bad.take_in()
    (bad.out / BOOK).write_bytes(old)
    bad.take_in()
    assert (2000, 12.9) in values(bad)
    assert len(ledger(bad)) == 1


def test_a_correction_waits_for_a_file_that_is_not_there(bad):
    path = bad.folder / "readings.csv"
    text = path.read_bytes()
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
    path.unlink()
    notes = bad.take_in().notes
    assert (
        "1 correction waits for readings.csv, which is not in the folder any more; put it back and run again." in notes
    )
    assert read(bad.out / BOOK, "readings").lines[0]["value"] == "13"
    path.write_bytes(text)
    bad.take_in()
    assert (2000, 13.0) in values(bad)


def test_new_words_judge_a_corrected_row_again_with_its_correction(bad):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
    bad.take_in()
    bad.write("fitback.toml", '[[measure]]\nname = "bolt_throw"\nunit = "mm"\n')
    bad.take_in()
    assert (2000, 13.0) in values(bad)
    assert [row[6] for row in ledger(bad)] == [None]


def test_lines_deleted_or_sorted_otherwise_and_columns_moved_change_nothing_else(bad):
    with opened(bad.out / BOOK) as book:
        old = book["readings"]
        rows = [list(row) for row in old.iter_rows(values_only=True)]
        del book["readings"]
        new = book.create_sheet("Readings ")
        places = sorted(range(len(rows[0])), key=lambda place: str(rows[0][place]))
        for row in (rows[0], rows[2], rows[1]):
            new.append([row[place] for place in places])
        value = places.index(rows[0].index("value")) + 1
        new.cell(3, value).value = "13"
        new.delete_rows(2)
    assert bad.take_in().notes == []
    assert (2000, 13.0) in values(bad)
    assert [line["row"] for line in read(bad.out / BOOK, "readings").lines] == [6]


def test_a_line_without_its_mark_is_known_by_file_and_row(bad):
    with opened(bad.out / BOOK) as book:
        sheet = book["readings"]
        columns = [cell.value for cell in sheet[1]]
        sheet.cell(2, columns.index("value") + 1).value = "13"
        sheet.delete_cols(columns.index("line") + 1)
        sheet.delete_cols(columns.index("reason") + 1)
    assert bad.take_in().notes == []
    assert (2000, 13.0) in values(bad)


def test_deleting_every_sheet_but_one_changes_nothing(bad):
    before = bad.set_aside()
    with opened(bad.out / BOOK) as book:
        del book["readings"]
    bad.take_in()
    assert bad.set_aside() == before
    assert len(read(bad.out / BOOK, "readings").lines) == 2


def test_wide_sheets_of_the_firms_own_are_mended_cell_by_cell(empty_firm):
    empty_firm.write(
        "fitback.toml",
        """
[[sheet]]
file = "own.csv"
[sheet.installs]
install_id = "Door"
crew = "Team"
fitted_on = "Fitted"
[sheet.readings]
install_id = "Door"
each = [
    { column = "Sill L", measure = "sill_height", position_mm = 0, unit = "mm" },
    { column = "Sill R", measure = "sill_height", position_mm = 3000, unit = "mm" },
]
""",
    )
    empty_firm.write(
        "own.csv", "Door,Team,Fitted,Sill L,Sill R\nD1,Alder,2025-01-10,low,13\nD2,Birch,2025-01-11,12,high\n"
    )
    empty_firm.take_in()
    with corrected(empty_firm.out / BOOK, "readings") as sheet:
        assert [(line["row"], line["heading"], line["value"]) for line in sheet.lines] == [
            *((2, "Sill L", "low"), (3, "Sill R", "high"))
        ]
        sheet.put(0, value=12.5)
        sheet.put(1, value="14")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, position_mm, value FROM readings ORDER BY 1, 2") == [
        *(("D1", 0.0, 12.5), ("D1", 3000.0, 13.0), ("D2", 0.0, 12.0), ("D2", 3000.0, 14.0))
    ]
    assert empty_firm.ask('SELECT "row", heading FROM correction_ledger ORDER BY correction') == [
        *((2, "Sill L"), (3, "Sill R"))
    ]
    empty_firm.take_in()
    assert empty_firm.account("readings") == (4, 4, 0, 0)
