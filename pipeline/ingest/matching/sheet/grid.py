"""Any CSV or XLSX as grids of cells, every row with its number; knows nothing of headings or records."""

import csv
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.errors import few_of
from pipeline.ingest.files.csv_text import decoded_text, split_rows
from pipeline.ingest.files.headers import Unreadable
from pipeline.ingest.files.workbook import (
    cell_text,
    day_text,
    hidden_sheets,
    number_text,
    opened_workbook,
    unread_told,
)
from pipeline.ingest.judging.cells import BLANKS

if TYPE_CHECKING:
    from python_calamine import CalamineSheet, CalamineWorkbook

LARGEST_GRID = 40_000_000
_MOST_HIDDEN = 4
_HEAD_CHARACTERS, _LINES_LOOKED_AT = 1 << 18, 60
_SEPARATORS = (",", ";", "\t", "|")
Cell = object
# (first row, first column, last row, last column), from 0, ends included
Area = tuple[int, int, int, int]


@dataclass
class Grid:
    """One sheet. rows: from the sheet's first row, cells as the file holds them; merges: areas of merged cells.

    name   the sheet's; None for CSV
    notes  what is worth saying about the reading
    top, left  rows and columns of the sheet before the first of a part of it
    """

    name: str | None
    rows: list[list[Cell]]
    epoch: str
    merges: list[Area] = field(default_factory=list)
    notes: tuple[str, ...] = ()
    top: int = 0
    left: int = 0

    def part(self, area: Area) -> "Grid":
        """A rectangle of the sheet as a grid of its own, which knows where in the sheet it stands."""
        top, left, bottom, right = area
        rows = [row[left : right + 1] for row in self.rows[top : bottom + 1]]
        merges = [
            (max(a, top) - top, max(b, left) - left, min(c, bottom) - top, min(d, right) - left)
            for a, b, c, d in self.merges
            if a <= bottom and c >= top and b <= right and d >= left
        ]
        return replace(self, rows=rows, merges=merges, top=self.top + top, left=self.left + left)

    def turned(self) -> "Grid":
        """The sheet with its columns as rows; names of groups of its rows become a row over the headings."""
        rows = [list(cells) for cells in zip_longest(*self.rows, fillvalue="")]
        names = self._names_of_groups()
        if not any(names):
            merges = [(left, top, right, bottom) for top, left, bottom, right in self.merges]
            return replace(self, rows=rows, merges=merges)
        for row in range(len(names)):
            if self._is_name(row):
                for cells in rows:
                    cells[row] = ""
        return replace(self, rows=[list(names), *rows], merges=[], top=self.top - 1)

    def _names_of_groups(self) -> list[str]:
        """For each row the text alone in a row over it, down to the next or to a blank row; none for the title."""
        names, name = [], ""
        is_title = True
        for row in range(len(self.rows)):
            if self._is_name(row):
                name = "" if is_title else next(filter(None, self.texts[row]))
                names.append("")
                continue
            name = "" if self.is_blank(row) else name
            is_title = is_title and self.is_blank(row)
            names.append(name)
        return names

    def _is_name(self, row: int) -> bool:
        """Whether a row is one text in the first column, with a row of several cells below it."""
        if self.filled(row) != [0] or row + 1 >= len(self.rows) or not any(map(str.isalpha, self.texts[row][0])):
            return False
        below = self.filled(row + 1)
        return below[:1] == [0] and len(below) > 1

    def text(self, row: int, column: int) -> str:
        """A cell as text, from 0; empty beyond the row's end. Typed decimals are marked as such, see number_text."""
        cells = self.texts[row] if 0 <= row < len(self.rows) else []
        return cells[column] if 0 <= column < len(cells) else ""

    def day(self, row: int, column: int) -> str:
        """The same for a cell that holds a day: serial numbers of the workbook's own epoch become ISO days."""
        cells = self.rows[row] if 0 <= row < len(self.rows) else []
        return day_text(cells[column], self.epoch).strip(BLANKS) if 0 <= column < len(cells) else ""

    @cached_property
    def texts(self) -> list[list[str]]:
        """Every cell as text."""
        return [[_typed_text(cell) for cell in row] for row in self.rows]

    def filled(self, row: int) -> list[int]:
        """The columns of a row that hold something, from 0; none beyond the sheet's ends."""
        return [at for at, text in enumerate(self.texts[row]) if text] if 0 <= row < len(self.rows) else []

    @property
    def first_filled(self) -> int | None:
        """The first row that holds something, from 0; None where the sheet is empty."""
        return next((row for row in range(len(self.rows)) if not self.is_blank(row)), None)

    def column_after(self, row: int, column: int) -> int:
        """The column after a cell, or after the area it is merged over."""
        for top, left, bottom, right in self.merges:
            if top <= row <= bottom and left <= column <= right:
                return right + 1
        return column + 1

    @cached_property
    def width(self) -> int:
        """Cells of the longest row."""
        return max((len(row) for row in self.rows), default=0)

    def is_blank(self, row: int) -> bool:
        """Whether no cell of a row holds anything."""
        return not any(self.texts[row])


def _typed_text(cell: Cell) -> str:
    return (cell if isinstance(cell, str) else number_text(cell)).strip(BLANKS)


def shown(cell: Cell) -> str:
    """A cell as it would stand in a CSV, without blanks around."""
    return (cell if isinstance(cell, str) else cell_text(cell)).strip(BLANKS)


def head_of_csv(path: Path) -> tuple[Grid, str]:
    """The first rows of a CSV file in UTF-8, and its separator."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        text = file.read(_HEAD_CHARACTERS)
    lines = text.replace("\r\n", "\n").split("\n")[:-1]
    separator = _separator(lines)
    return Grid(None, [list(cells) for cells in split_rows("\n".join(lines), separator)], ""), separator


def csv_grid(path: Path, most: int) -> Grid:
    """The one grid of a CSV file. most: characters to read; -1: all."""
    text, note = decoded_text(path, most)
    rows: list[list[Cell]] = [list(cells) for cells in split_rows(text, _separator(text.split("\n")))]
    notes = [note] if note else []
    if most >= 0 and path.stat().st_size > most:
        notes.append(f"looked at its first {len(rows):,} rows only")
    return Grid(None, rows, "", notes=tuple(notes))


def _separator(lines: list[str]) -> str:
    return max(_SEPARATORS, key=lambda mark: _merit(lines[:_LINES_LOOKED_AT], mark))


def _merit(lines: list[str], mark: str) -> float:
    """How evenly a mark splits the lines: cells beyond the first, more where the rows are of one length."""
    counts = [len(cells) - 1 for cells in csv.reader(lines, delimiter=mark) if any(cells)]
    wide = [count for count in counts if count]
    return sum(wide) * max((wide.count(count) for count in wide), default=0) / max(1, len(counts))


def workbook_grids(path: Path) -> list[Grid]:
    """The visible sheets of a workbook."""
    with opened_workbook(path) as (workbook, names, epoch):
        sheets = [(name, workbook.get_sheet_by_name(name)) for name in names]
        grids = [Grid(name, _rows(sheet), epoch, _merges(sheet)) for name, sheet in sheets]
        if grids:
            hidden = [name for name in hidden_sheets(workbook) if _is_table(workbook, name)]
            grids[0].notes = (*_hidden_told(hidden), *unread_told(path))
        return grids


def _hidden_told(names: list[str]) -> tuple[str, ...]:
    if not names:
        return ()
    what = "sheet" if len(names) == 1 else "sheets"
    return (f"hidden {what} {few_of(names, _MOST_HIDDEN)} not read; show it in the workbook to read it",)


def _is_table(workbook: "CalamineWorkbook", name: str) -> bool:
    """Whether a sheet holds more than one list of words, as those do from which cells are chosen."""
    sheet = workbook.get_sheet_by_name(name)
    return sheet.height > 1 and sheet.width > 1


def _rows(sheet: "CalamineSheet") -> list[list[Cell]]:
    if sheet.total_height * sheet.total_width > LARGEST_GRID:
        raise Unreadable(f"sheet {sheet.name} is too large; save its rows as CSV")
    return [list(row) for row in sheet.to_python(skip_empty_area=False)]


def _merges(sheet: "CalamineSheet") -> list[Area]:
    return [(*first, *last) for first, last in sheet.merged_cell_ranges or []]
