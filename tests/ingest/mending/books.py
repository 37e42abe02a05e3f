"""Opens the set-aside workbook of a small firm as a person would, and changes cells in it."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import openpyxl


class Sheet:
    """A sheet of the workbook by its headings: lines are numbered from 0."""

    def __init__(self, sheet: Any) -> None:
        self.sheet = sheet
        self.columns = [cell.value for cell in sheet[1]]

    @property
    def lines(self) -> list[dict[str, Any]]:
        """Every line as a dict of its cells."""
        rows = list(self.sheet.iter_rows(min_row=2, values_only=True))
        return [dict(zip(self.columns, row, strict=True)) for row in rows]

    def cell(self, line: int, column: str) -> Any:
        """A cell to be changed."""
        return self.sheet.cell(line + 2, self.columns.index(column) + 1)

    def put(self, line: int, **cells: object) -> None:
        """Writes cells of a line."""
        for column, value in cells.items():
            self.cell(line, column).value = value

    def at_fault(self, line: int) -> list[str]:
        """The columns whose cells are coloured."""
        return [column for column in self.columns if self.cell(line, column).fill.fill_type == "solid"]


def read(path: Path, record: str) -> Sheet:
    """One sheet of a workbook, to look at."""
    return Sheet(openpyxl.load_workbook(path)[record])


@contextmanager
def opened(path: Path) -> Iterator[Any]:
    """The workbook, saved in its place at the end."""
    book = openpyxl.load_workbook(path)
    yield book
    book.save(path)


@contextmanager
def corrected(path: Path, record: str) -> Iterator[Sheet]:
    """One sheet of a workbook, saved in its place at the end."""
    with opened(path) as book:
        yield Sheet(book[record])
