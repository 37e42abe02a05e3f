"""Cells beside a table that stand under no heading: a remark behind the last column, which no record can hold."""

from openpyxl.utils import get_column_letter

from pipeline.errors import few_of
from pipeline.ingest.matching.sheet.grid import Grid

_MOST_TOLD = 4


def unheaded(grid: Grid, heads: tuple[str, ...], rows: list[int], *, is_turned: bool) -> list[str]:
    """A sentence on the cells of rows (from 0) that no heading stands over; nothing where there are none.

    is_turned  the rows of the grid are the columns of the sheet
    """
    cells = [
        _cell(grid.left + at + 1, grid.top + row + 1, is_turned=is_turned)
        for row in rows
        for at in grid.filled(row)
        if at >= len(heads) or not heads[at]
    ]
    if not cells:
        return []
    what = "1 cell" if len(cells) == 1 else f"{len(cells):,} cells"
    return [f"{what} under no heading not read: {few_of(cells, _MOST_TOLD)}"]


def _cell(column: int, row: int, *, is_turned: bool) -> str:
    """A cell as spreadsheets name it."""
    return f"{get_column_letter(row)}{column}" if is_turned else f"{get_column_letter(column)}{row}"
