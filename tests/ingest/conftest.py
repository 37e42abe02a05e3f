"""A small firm on disk: writes files, takes them in, asks the databases."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline.ingest.take import Intake, take_in
from pipeline.settings import load_settings
from pipeline.warehouse import escaped

TODAY = date(2026, 3, 1)
INSTALLS = """
install_id,crew,fitted_on,handed_over_on,width_mm,height_mm
D1,Alder,2025-01-10,2025-01-12,4000,2100
D2,Birch,2025-02-10,,3000,2000
"""
READINGS = """
install_id,measure,member,position_mm,value,unit
D1,sill_height,sill,0,12.0,mm
D1,sill_height,sill,1000,13.5,mm
D2,frame_width,,,3000,mm
"""


@cache
def _connection() -> duckdb.DuckDBPyConnection:
    """One for all questions: to make one takes five times as long as to ask."""
    return duckdb.connect(":memory:")


def answer(path: Path, sql: str) -> list[tuple[Any, ...]]:
    """What a database file, opened for this question only, says."""
    name = path.stem
    with _connection().cursor() as connection:
        connection.execute(f"ATTACH '{escaped(path)}' AS {name} (READ_ONLY)")
        try:
            connection.execute(f"USE {name}")
            return connection.execute(sql).fetchall()
        finally:
            connection.execute("USE memory")
            connection.execute(f"DETACH {name}")


@dataclass
class Firm:
    """A folder of records and where they are taken in."""

    folder: Path
    out: Path
    said: list[str] = field(default_factory=list)

    def write(self, name: str, text: str | bytes) -> Path:
        path = self.folder / name
        path.write_bytes(text if isinstance(text, bytes) else text.lstrip("\n").encode())
        return path

    def take_in(self, today: date = TODAY) -> Intake:
        settings, catalogue = load_settings(self.folder)
        return take_in(self.folder, self.out, settings, catalogue, self.said.append, today)

    def ask(self, sql: str) -> list[tuple[Any, ...]]:
        return answer(self.out / "records.duckdb", sql)

    def people(self, sql: str) -> list[tuple[Any, ...]]:
        return answer(self.out / "people.duckdb", sql)

    def set_aside(self) -> list[tuple[Any, ...]]:
        """(file, row, column, value, scope) of everything not taken in."""
        return self.ask('SELECT file, "row", "column", "value", scope FROM rejections ORDER BY ALL')

    def reasons(self) -> list[str]:
        return [reason for (reason,) in self.ask("SELECT reason FROM rejections ORDER BY ALL")]

    def account(self, record: str) -> tuple[int, int, int, int]:
        """Rows read, taken in, set aside and repeated."""
        (counts,) = self.ask(
            "SELECT sum(rows_read)::INT, sum(rows_taken_in)::INT, sum(rows_set_aside)::INT, sum(rows_repeated)::INT "
            f"FROM files WHERE record = '{record}'"
        )
        return counts


@pytest.fixture
def empty_firm(tmp_path: Path) -> Firm:
    folder = tmp_path / "records"
    folder.mkdir()
    return Firm(folder, tmp_path / "out")


@pytest.fixture
def firm(empty_firm: Firm) -> Firm:
    """Two doors, three readings, nothing wrong."""
    empty_firm.write("installs.csv", INSTALLS)
    empty_firm.write("readings.csv", READINGS)
    return empty_firm


@pytest.fixture
def new_firm(tmp_path: Path) -> Callable[[str], Firm]:
    """Makes firms by name, for comparing them."""

    def make(name: str) -> Firm:
        folder = tmp_path / name / "records"
        folder.mkdir(parents=True)
        return Firm(folder, tmp_path / name / "out")

    return make
