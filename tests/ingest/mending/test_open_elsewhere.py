"""A workbook that is open elsewhere is never written over: the run writes a numbered one and says so."""

import os
from pathlib import Path

import openpyxl
import pytest

from pipeline.books import save_book
from pipeline.ingest.mending.book import BOOK
from tests.ingest.conftest import READINGS
from tests.ingest.mending.books import corrected, read

SAYS = (
    "set_aside.xlsx is open in another program, so this run wrote set_aside 2.xlsx; close the first and use the second."
)


@pytest.fixture
def bad(firm):
    firm.write("readings.csv", READINGS + "D1,sill_height,sill,2000,abc,mm\nD1,sill_height,sill,3000,x,mm\n")
    firm.take_in()
    return firm


@pytest.mark.parametrize("mark", ["~$set_aside.xlsx", ".~lock.set_aside.xlsx#"])
def test_a_mark_of_an_open_workbook_leads_to_a_numbered_name(bad, mark):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
    saved = (bad.out / BOOK).read_bytes()
    (bad.out / mark).write_bytes(b"")
    for _ in range(2):
        assert SAYS in bad.take_in().to_mend
        assert (bad.out / BOOK).read_bytes() == saved
        assert [line["row"] for line in read(bad.out / "set_aside 2.xlsx", "readings").lines] == [6]
    with corrected(bad.out / "set_aside 2.xlsx", "readings") as sheet:
        sheet.put(0, value="14")
    (bad.out / mark).unlink()
    assert bad.take_in().to_mend == []
    assert bad.account("readings") == (5, 5, 0, 0)
    assert not list(bad.out.glob("set_aside*"))


def test_both_are_open(bad):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
    for name in ("~$set_aside.xlsx", "~$set_aside 2.xlsx"):
        (bad.out / name).write_bytes(b"")
    assert any("this run wrote set_aside 3.xlsx" in sentence for sentence in bad.take_in().to_mend)


def test_the_workbook_saved_last_wins_over_an_older_one(bad):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
        sheet.put(1, value="15")
    older = bad.out / "set_aside 2.xlsx"
    older.write_bytes((bad.out / BOOK).read_bytes())
    with corrected(older, "readings") as sheet:
        sheet.put(0, value="12")
    os.utime(older, (1, 1))
    bad.take_in()
    assert bad.ask("SELECT value FROM readings WHERE position_mm = 2000") == [(13.0,)]
    bad.take_in()
    assert bad.ask("SELECT value FROM readings WHERE position_mm = 2000") == [(13.0,)]


def test_a_workbook_that_the_system_holds_is_left_as_it_is(bad, monkeypatch):
    with corrected(bad.out / BOOK, "readings") as sheet:
        sheet.put(0, value="13")
    replace = Path.replace

    def held(path: Path, target: Path) -> Path:
        if target.name == BOOK:
            raise PermissionError(target)
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", held)
    assert SAYS in bad.take_in().to_mend
    assert not (bad.out / f".{BOOK}").exists()


def test_the_review_sheet_of_links_is_not_written_over_either(tmp_path):
    book = openpyxl.Workbook()
    (tmp_path / "~$links_to_review.xlsx").write_bytes(b"")
    with pytest.raises(PermissionError):
        save_book(book, tmp_path / "links_to_review.xlsx")
