"""Set aside, mended, taken in again, through the commands: what is told, what is written, what is built anew."""

import json
import shutil
from pathlib import Path

import duckdb
import openpyxl
import polars as pl
import pytest
from typer.testing import CliRunner

from pipeline.cli import app
from tests.ingest.mending.books import corrected

INSTALLS = "install_id,crew,fitted_on,handed_over_on,width_mm,customer\n" + "".join(
    f"D{n},{'Alder' if n % 2 else 'Birch'},2024-0{1 + n % 9}-10,2024-0{1 + n % 9}-12,4000,Anna Example\n"
    for n in range(1, 21)
)
READINGS = "install_id,measure,member,position_mm,value,unit\n" + "".join(
    f"D{n},sill_height,sill,{place},{10 + n % 4 + place / 2000},mm\n" for n in range(1, 21) for place in (0, 2000)
)
CHECKS = "install_id,check,outcome\n" + "".join(f"D{n},sill_bedded,pass\n" for n in range(1, 21))
CALLBACKS = "callback_id,install_id,reported_on,fault\nC1,D1,2025-01-10,stiff_running\nC2,D2,2025-02-10,draught\n"
BAD_ROWS = "D3,sill_height,sill,1000,abc,mm\nD4,sill_height,sill,1000,=1+1,mm\n"


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory, drawings_kept: None) -> Path:
    """Twenty doors, two readings set aside, and a run on them; to be copied before it is changed."""
    made = tmp_path_factory.mktemp("mended") / "doors"
    made.mkdir()
    files = {"installs": INSTALLS, "readings": READINGS + BAD_ROWS, "checks": CHECKS, "callbacks": CALLBACKS}
    for record, text in files.items():
        (made / f"{record}.csv").write_text(text)
    run(made)
    return made


@pytest.fixture
def folder(first: Path, tmp_path: Path) -> Path:
    """A copy of the records, with a copy of the first run's output beside them."""
    shutil.copytree(first, tmp_path / "doors")
    shutil.copytree(outcome(first), outcome(tmp_path / "doors"))
    return tmp_path / "doors"


def run(folder: Path, command: str = "run") -> dict:
    result = CliRunner().invoke(app, [command, str(folder), "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.output)


def outcome(folder: Path) -> Path:
    return folder.with_name("doors-fitback")


def rows(folder: Path, sql: str) -> list[tuple]:
    with duckdb.connect(str(outcome(folder) / "results.duckdb"), read_only=True) as results:
        return results.execute(sql).fetchall()


def mend(folder: Path, **cells: object) -> None:
    with corrected(outcome(folder) / "set_aside.xlsx", "readings") as sheet:
        sheet.put(0, **cells)


def test_the_run_says_where_to_mend_and_after_it_what_is_in_force(folder):
    result = CliRunner().invoke(app, ["run", str(folder), "--quiet"])
    assert "2 rows are set aside or have a cell left empty; correct them in set_aside.xlsx, beside" in result.output
    mend(folder, value=10.9, who="Alder")
    result = CliRunner().invoke(app, ["run", str(folder), "--quiet"])
    assert "Corrected in set_aside.xlsx and in force: 1 cell of 1 row; tables/corrections.csv tells" in result.output
    assert "Read 84 rows: 83 taken in, 1 set aside" in result.output
    frame = pl.read_csv(outcome(folder) / "tables/corrections.csv")
    assert frame.select("who", "file", "row", "column", "before", "after", "state").rows() == [
        ("Alder", "readings.csv", 42, "value", "abc", 10.9, "in force")
    ]
    page = (outcome(folder) / "pages/records.html").read_text("utf-8")
    assert "Corrected by hand: 1 correction in force" in page


def test_what_the_mended_row_does_not_touch_is_not_built_anew(folder):
    mend(folder, value="10.9")
    run(folder)
    anew = {table for (table,) in rows(folder, 'SELECT "table" FROM build_log WHERE is_rebuilt')}
    assert {"corrections", "set_aside", "deviations"} <= anew
    assert not {"staged_installs", "staged_callbacks", "coded_callbacks", "linked_callbacks", "door_time"} & anew
    assert rows(folder, "SELECT readings FROM deviations WHERE install_id = 'D3' AND deviation = 'sill_bow'") == [(3,)]
    run(folder)
    anew = {table for (table,) in rows(folder, 'SELECT "table" FROM build_log WHERE is_rebuilt')}
    assert anew <= {"intake_account"}


def test_check_reads_the_workbook_and_the_ledger_and_writes_nothing(folder):
    mend(folder, value="10.9")
    before = {path: path.read_bytes() for path in outcome(folder).rglob("*") if path.is_file()}
    told = run(folder, "check")
    assert told["rows"]["rows_set_aside"] == 1
    assert told["corrections"] == {"cells": 1, "rows": 1, "superseded": 0}
    assert {path: path.read_bytes() for path in outcome(folder).rglob("*") if path.is_file()} == before
    run(folder)
    assert run(folder, "check")["corrections"] == {"cells": 1, "rows": 1, "superseded": 0}


def test_a_newer_file_wins_and_the_ledger_shows_it(folder):
    mend(folder, value="10.9")
    run(folder)
    path = folder / "readings.csv"
    path.write_text(path.read_text().replace("abc", "11.1"))
    assert run(folder)["corrections"] == {"cells": 0, "rows": 0, "superseded": 1}
    assert rows(folder, "SELECT state, superseded_by FROM corrections") == [
        ("superseded", "the file, delivered with this row changed")
    ]
    assert "1 superseded" in (outcome(folder) / "pages/records.html").read_text("utf-8")


def test_a_formula_is_shown_as_text_and_stays_out(folder):
    book = openpyxl.load_workbook(outcome(folder) / "set_aside.xlsx")
    cells = [str(cell) for row in book["readings"].iter_rows(values_only=True) for cell in row if cell is not None]
    assert "'=1+1" in cells
    assert not [cell for cell in cells if cell.startswith("=")]


def test_the_results_of_a_mended_firm_are_those_of_a_firm_without_the_mistake(folder, tmp_path):
    mend(folder, value="10.9")
    run(folder)
    right = tmp_path / "right" / "doors"
    shutil.copytree(folder, right)
    path = right / "readings.csv"
    path.write_text(path.read_text().replace("abc", "10.9"))
    run(right)
    for table in ("deviations", "limit_decisions", "callback_rates", "set_aside"):
        wanted = (right.with_name("doors-fitback") / f"tables/{table}.csv").read_text()
        assert (outcome(folder) / f"tables/{table}.csv").read_text() == wanted
