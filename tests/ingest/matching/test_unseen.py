"""Twelve invented firms' messy sheets through match and taking in: columns placed, no value other than was meant.

Six were written before `fitback match` was mended for such sheets, three after it, three last of all. All have been
mended for since, so they hold what was reached; they do not say how well sheets do that nobody has seen.
"""

from pathlib import Path

import pytest
from openpyxl import load_workbook

from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.unseen import last, later, lists, pages
from tests.ingest.matching.unseen.measure import measured

FIRMS = [lists.foreman, lists.clerk, lists.grids, pages.forms, pages.stacked, pages.site_lead]
FIRMS += [later.depot, later.subcontractor, later.inspector, last.survey_office, last.one_sheet, last.two_people]
# What a cell says is a matter of values, not of the mapping: an amount with its currency before it is set aside.
LEFT_EMPTY = {"foreman": {"callbacks.cost": 9}}


@pytest.mark.parametrize("write", FIRMS, ids=lambda write: write.__name__)
def test_messy_sheets_come_in_as_they_were_meant(write, tmp_path: Path) -> None:
    found = measured(write, tmp_path)
    assert found.wrong == []
    assert found.unmapped == []
    assert dict(found.missed) == LEFT_EMPTY.get(write.__name__, {})
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
