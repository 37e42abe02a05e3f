"""What stands in an output folder, in a form that two runs can be compared by."""

import math
import re
import zipfile
from pathlib import Path
from typing import Any

import duckdb

from pipeline.graph import RECORD_SOURCES

# What tells of the run itself: when it was, what it built anew, which files it had read before.
OF_THE_RUN = {"runs", "build_log"}
OF_THE_RUN_COLUMNS = {"intake_account": {"status"}, "files": {"status", "version"}}
BELONGS = {"records.duckdb", "people.duckdb", "results.duckdb", "results.previous.duckdb", "tables", "pages", ".lock"}

Standing = dict[str, list[tuple[Any, ...]]]


def standing(out: Path) -> Standing:
    """Rows by table: current records, people, every result; sorted, numbers to nine digits, the run itself left out.

    Sums of doubles differ in the last digits with the order in which threads add them.
    """
    found: Standing = {}
    with duckdb.connect(out / "records.duckdb", read_only=True) as records:
        for name in RECORD_SOURCES:
            found[f"records.{name}"] = _rows(records, name)
    with duckdb.connect(out / "people.duckdb", read_only=True) as people:
        for name in ("install_people", "callback_people"):
            found[f"people.{name}"] = _rows(people, name)
    with duckdb.connect(out / "results.duckdb", read_only=True) as results:
        for (name,) in results.execute("SELECT table_name FROM duckdb_tables()").fetchall():
            if name not in OF_THE_RUN:
                found[f"results.{name}"] = _rows(results, name)
    return found


def differences(one: Standing, other: Standing) -> list[str]:
    """Names of the tables that differ, with the first row that only one has."""
    told = []
    for name in sorted(set(one) | set(other)):
        rows, others = one.get(name, []), other.get(name, [])
        if rows != others:
            odd = next((row for row in rows if row not in others), None) or next(
                (row for row in others if row not in rows), None
            )
            told.append(f"{name}: {len(rows)} rows against {len(others)}, such as {str(odd)[:300]}")
    return told


def left_behind(out: Path) -> list[str]:
    """Files and folders in the output folder that a run that ended well has no need of."""
    for_people = {path.name for path in out.glob("[!.]*.xlsx")}  # sheets to fill in
    return sorted({path.name for path in out.iterdir()} - BELONGS - for_people)


def run_ids(out: Path) -> set[str]:
    """The run that results, workbook, tables and pages say they are of: one, where they came into place together."""
    with duckdb.connect(out / "results.duckdb", read_only=True) as results:
        ids = {row[0] for row in results.execute("SELECT run_id FROM runs").fetchall()}
    with zipfile.ZipFile(out / "fitback.xlsx") as book:
        ids |= set(re.findall(r"identifier>([^<]+)<", book.read("docProps/core.xml").decode()))
    return ids | {(out / name / "run.txt").read_text("utf-8").strip() for name in ("tables", "pages")}


def _rows(connection: duckdb.DuckDBPyConnection, table: str) -> list[tuple[Any, ...]]:
    left_out = OF_THE_RUN_COLUMNS.get(table, set())
    names = [row[0] for row in connection.execute(f'DESCRIBE "{table}"').fetchall() if row[0] not in left_out]
    columns = ", ".join(f'"{name}"' for name in names)
    rows = [tuple(map(_plain, row)) for row in connection.execute(f'SELECT {columns} FROM "{table}"').fetchall()]
    return sorted(rows, key=repr)


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return "nan" if math.isnan(value) else float(f"{value:.9g}") + 0.0
    return tuple(map(_plain, value)) if isinstance(value, list) else value
