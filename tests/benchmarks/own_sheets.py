"""A firm's own sheets of known size: the readings of a canonical folder as one wide CSV, and fifty small workbooks."""

import json
import shutil
from datetime import datetime, timedelta
from pathlib import Path

import duckdb

# A place of a door is a column; doors that lack it leave the cell empty. Positions differ from door to door and stay
# out: what is measured is making wide long, not where along a member a reading stands.
PLACES = """
    SELECT *, concat_ws(' ', measure, member, station, n) AS place FROM (
        SELECT *, row_number() OVER (PARTITION BY install_id, measure, member, station ORDER BY position_mm) AS n
        FROM read_csv('{path}', header = true))
"""
N_WORKBOOKS, N_ROWS = 50, 2000
HEADS = ["Door ref", "Team", "Date fitted", "Width (mm)", "Sill L", "Sill R", "Leaf 1 head gap H", "Leaf 1 head gap L"]


def write_wide(folder: Path, wide: Path) -> None:
    """The readings of a folder as `wide.csv`, a row for each door, with the mapping that makes them long again."""
    wide.mkdir(parents=True)
    for file in ("installs.csv", "callbacks.csv", "instruments.csv", "crews.csv"):
        if (folder / file).exists():
            shutil.copy(folder / file, wide / file)
    with duckdb.connect() as connection:
        connection.execute("SET enable_progress_bar = false")
        connection.execute(f"CREATE TABLE places AS {PLACES.format(path=folder / 'readings.csv')}")
        found = connection.execute(
            "SELECT place, measure, member, unit, min(station), min(n) FROM places GROUP BY 1, 2, 3, 4 ORDER BY 1"
        ).fetchall()
        connection.execute(
            "COPY (PIVOT (SELECT install_id AS Door, place, value FROM places) ON place USING max(value) GROUP BY Door "
            f"ORDER BY Door) TO '{wide / 'wide.csv'}' (HEADER)"
        )
    lines = [_entry(*row) for row in found]
    mapping = ['[[sheet]]\nfile = "wide.csv"\n[sheet.readings]\ninstall_id = "Door"\neach = [', *lines, "]\n"]
    (wide / "fitback.toml").write_text("\n".join(mapping), encoding="utf-8")


def write_workbooks(folder: Path) -> None:
    """Fifty workbooks of 2,000 doors, a column for every reading, and the mapping that match proposes for them."""
    import openpyxl

    from pipeline.ingest.matching.match import match_files

    folder.mkdir(parents=True)
    for number in range(N_WORKBOOKS):
        workbook = openpyxl.Workbook(write_only=True)
        sheet = workbook.create_sheet("Doors")
        sheet.append(HEADS)
        for row in range(N_ROWS):
            fitted = datetime(2024, 1, 1) + timedelta(days=row % 500)
            sheet.append([f"D{number}-{row}", "Alder", fitted, 3600, 1, row % 7 / 4, 3, 3.5])
        workbook.save(folder / f"site {number}.xlsx")
    match_files([folder / "site 0.xlsx"], is_terminal=False)


def _entry(place: str, measure: str, member: str | None, unit: str, station: str | None, n: int) -> str:
    fixed = {"column": place, "measure": measure, "member": member, "station": str(station or n), "unit": unit}
    pairs = ", ".join(f"{name} = {json.dumps(text)}" for name, text in fixed.items() if text)
    return f"  {{ {pairs} }},"
