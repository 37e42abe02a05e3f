"""Thirteen invented firms' messy sheets through match and taking in: columns placed, no value other than was meant.

Six were written before `fitback match` was mended for such sheets, three after it, three last of all, one by somebody
who had not seen the code. All have been mended for since, so they hold what was reached; they do not say how well
sheets do that nobody has seen.
"""

from pathlib import Path

import pytest
from openpyxl import load_workbook

from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.unseen import last, later, lists, office, pages
from tests.ingest.matching.unseen.measure import measured

FIRMS = [lists.foreman, lists.clerk, lists.grids, pages.forms, pages.stacked, pages.site_lead]
FIRMS += [later.depot, later.subcontractor, later.inspector, last.survey_office, last.one_sheet, last.two_people]
FIRMS += [office.whole_office]


@pytest.mark.parametrize("write", FIRMS, ids=lambda write: write.__name__)
def test_messy_sheets_come_in_as_they_were_meant(write, tmp_path: Path) -> None:
    found = measured(write, tmp_path)
    assert found.wrong == []
    assert found.unmapped == []
    assert dict(found.missed) == {}
    assert found.unaccounted == []


def test_a_log_without_numbers_keeps_its_numbers_when_it_grows(empty_firm) -> None:
    lists.clerk(empty_firm.folder)
    match_files(sorted(empty_firm.folder.iterdir()), is_terminal=False)
    empty_firm.take_in()
    before = empty_firm.ask("SELECT callback_id FROM callbacks ORDER BY 1")
    _put_above(empty_firm.folder / "Service log.xlsx")
    empty_firm.take_in()
    after = empty_firm.ask("SELECT callback_id FROM callbacks ORDER BY 1")
    assert len(after) == len(before) + 1 == len(set(after))
    assert set(before) < set(after)


def _put_above(path: Path) -> None:
    """A new call in the first row, as a desk that writes the newest on top would."""
    book = load_workbook(path)
    book.active.insert_rows(2)
    for place, cell in enumerate(["2025-12-20", 1400, "Mara Ashgrove", "key stuck in the lock again", "2025-12-21"], 1):
        book.active.cell(2, place, cell)
    book.save(path)


def test_what_lacks_a_column_is_left_to_be_completed(empty_firm) -> None:
    rows = ["Our ref,Job,Gang,System,W (mm),Panels,Sparkled,Twinkled"]
    rows += ["B1,11,Quay,slim,3000,3,2025-02-03,2025-02-04", "B2,12,Quay,slim,3200,4,2025-02-13,2025-02-17"]
    rows += ["B3,13,Mill,broad,3300,4,2025-02-19,2025-02-20"]
    empty_firm.write("Book of doors.csv", "\n".join(rows))
    path = empty_firm.folder / "Book of doors.csv"
    (said,) = [line for line in match_files([path], is_terminal=False).sentences if "cannot be made" in line]
    assert "no column is fitted_on" in said
    assert "complete it there" in said
    toml = empty_firm.folder / "fitback.toml"
    lines = [line.removeprefix("# ") for line in toml.read_text(encoding="utf-8").splitlines() if line != "#"]
    table = "\n".join(lines[lines.index("[[sheet]]") : -1])
    assert "without a place: 'Sparkled', 'Twinkled'" in table
    toml.write_text(table.replace('fitted_on = ""', 'fitted_on = "Sparkled"'), encoding="utf-8")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(fitted_on) FROM installs") == [(3,)]


def test_a_sheet_that_no_table_reads_is_told(empty_firm) -> None:
    lists.clerk(empty_firm.folder)
    match_files(sorted(empty_firm.folder.iterdir()), is_terminal=False)
    path = empty_firm.folder / "Service log.xlsx"
    book = load_workbook(path)
    book.create_sheet("Pivot").append(["Month", "Calls"])
    book.save(path)
    empty_firm.take_in()
    (reason,) = empty_firm.ask("SELECT reason FROM files WHERE file = 'Service log.xlsx' AND record = 'callbacks'")
    assert "sheet Pivot not read" in reason[0]
