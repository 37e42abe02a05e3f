"""Rows of large files are mended as those of small ones are: by every typed path, whatever set them aside."""

import json

import polars as pl
import pytest

import pipeline.ingest.reading as reading
from pipeline.ingest.mending.book import BOOK
from tests.ingest.mending.books import corrected

HEADER = ["install_id", "measure", "member", "position_mm", "value", "unit"]
GOOD = [["D1", "sill_height", "sill", str(place), "12.5", "mm"] for place in range(50)]
BAD = [
    ["D1", "sill_height", "sill", "1000", "abc", "mm"],  # judged as text
    ["D9", "sill_height", "sill", "1001", "13.5", "mm"],  # certain, but its door is not known
]


@pytest.fixture(autouse=True)
def all_are_large(monkeypatch):
    monkeypatch.setattr(reading, "SMALLEST_BULK_BYTES", {".csv": 0, ".parquet": 0, ".jsonl": 0})


def as_csv(firm, rows):
    firm.write("readings.csv", "\n".join(map(",".join, [HEADER, *rows])) + "\n")


def as_csv_with_a_misfit(firm, rows):
    lines = list(map(",".join, [HEADER, *rows]))
    firm.write("readings.csv", "\n".join([*lines[:5], "D1,sill_height", *lines[5:]]) + "\n")


def as_parquet(firm, rows):
    pl.DataFrame(rows, schema=HEADER, orient="row").write_parquet(firm.folder / "readings.parquet")


def as_json_lines(firm, rows):
    lines = [json.dumps(dict(zip(HEADER, row, strict=True))) for row in rows]
    firm.write("readings.jsonl", "\n".join(lines) + "\n")


@pytest.mark.parametrize("write", [as_csv, as_csv_with_a_misfit, as_parquet, as_json_lines])
def test_rows_of_a_large_file_are_mended(firm, write):
    (firm.folder / "readings.csv").unlink()
    write(firm, GOOD + BAD)
    firm.take_in()
    assert firm.ask("SELECT bool_and(is_large) FROM loads WHERE record = 'readings'") == [(True,)]
    n_misfits = 1 if write is as_csv_with_a_misfit else 0
    with corrected(firm.out / BOOK, "readings") as sheet:
        for number, line in enumerate(sheet.lines):
            if line["position_mm"] in ("1000", "1001"):
                sheet.put(number, value=11, install_id="D1")
    for _ in range(2):
        firm.take_in()
        assert firm.ask("SELECT bool_and(is_large) FROM loads WHERE record = 'readings'") == [(True,)]
        assert firm.account("readings") == (52 + n_misfits, 52, n_misfits, 0)
        assert firm.ask("SELECT value FROM readings WHERE position_mm >= 1000 ORDER BY position_mm") == [
            (11.0,),
            (11.0,),
        ]
        assert firm.ask("SELECT count(*) FROM corrections WHERE superseded_at IS NULL") == [(3,)]
    path = next(firm.folder.glob("readings.*"))
    path.unlink()
    changed = [["D1", *row[1:4], "14", "mm"] if row[4] == "abc" else row for row in GOOD + BAD]
    write(firm, changed)
    firm.take_in()
    assert firm.ask("SELECT value FROM readings WHERE position_mm >= 1000 ORDER BY position_mm") == [(14.0,), (11.0,)]
    assert firm.ask("SELECT count(*) FROM corrections WHERE superseded_at IS NULL") == [(2,)]


def test_cells_of_a_large_wide_sheet_are_mended(empty_firm):
    empty_firm.write(
        "fitback.toml",
        """
[[sheet]]
file = "own.csv"
[sheet.readings]
install_id = "Door"
each = [
    { column = "Sill L", measure = "sill_height", position_mm = 0, unit = "mm" },
    { column = "Sill R", measure = "sill_height", position_mm = 3000, unit = "mm" },
]
""",
    )
    empty_firm.write("installs.csv", "install_id,crew,fitted_on\n" + "".join(f"D{n},A,2025-01-10\n" for n in range(50)))
    rows = [f"D{n},{'abc' if n == 7 else 12},13" for n in range(50)] + ["D77,12,13"]
    empty_firm.write("own.csv", "\n".join(["Door,Sill L,Sill R", *rows]) + "\n")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT bool_and(is_large) FROM loads WHERE record = 'readings'") == [(True,)]
    assert empty_firm.account("readings") == (102, 99, 3, 0)
    with corrected(empty_firm.out / BOOK, "readings") as sheet:
        for number, line in enumerate(sheet.lines):
            sheet.put(
                number, **({"value": 12.25} if line["value"] == "abc" else {"install_id": "D7", "position_mm": 99})
            )
    for _ in range(2):
        empty_firm.take_in()
        assert empty_firm.account("readings") == (102, 100, 2, 0)  # two values at one place of D7 contradict each other
        assert (12.25,) in empty_firm.ask("SELECT value FROM readings WHERE install_id = 'D7'")
