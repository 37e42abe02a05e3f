"""How long own sheets take: measured by `make bench` only."""

import shutil
from datetime import datetime, timedelta
from time import perf_counter

import openpyxl
import pytest

from pipeline.ingest.matching.match import match_files

MOST_SECONDS = 20.0
HEADS = [
    "Door ref",
    "Team",
    "Date fitted",
    "Width (mm)",
    "Sill L",
    "Sill R",
    "Leaf 1 head gap H",
    "Leaf 1 head gap L",
    "T&H L1",
]


@pytest.mark.bench
@pytest.mark.slow
def test_fifty_workbooks_of_two_thousand_rows(empty_firm):
    for number in range(50):
        workbook = openpyxl.Workbook(write_only=True)
        sheet = workbook.create_sheet("Doors")
        sheet.append(HEADS)
        for row in range(2000):
            fitted = datetime(2024, 1, 1) + timedelta(days=row % 500)
            sheet.append([f"D{number}-{row}", "Alder", fitted, 3600, 1, row % 7 / 4, 3, 3.5, "pass"])
        workbook.save(empty_firm.folder / f"site {number}.xlsx")
    match_files([empty_firm.folder / "site 0.xlsx"], is_terminal=False)
    shutil.rmtree(empty_firm.out, ignore_errors=True)
    began = perf_counter()
    intake = empty_firm.take_in()
    assert perf_counter() - began < MOST_SECONDS
    assert intake.accounts["readings"].taken_in == 50 * 2000 * 4
