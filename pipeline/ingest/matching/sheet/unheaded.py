"""Cells beside a table that stand under no heading: a remark behind the last column, which no record can hold."""

from openpyxl.utils import get_column_letter

from pipeline.errors import few_of
from pipeline.ingest.matching.sheet.grid import Grid

_MOST_TOLD = 4


def unheaded(grid: Grid, heads: tuple[str, ...], rows: list[int]) -> list[str]:
    """A sentence on the cells of rows (from 0) that no heading stands over; nothing where there are none."""
    cells = [
        f"{get_column_letter(grid.left + at + 1)}{grid.top + row + 1}"
        for row in rows
        for at in grid.filled(row)
        if at >= len(heads) or not heads[at]
    ]
    if not cells:
        return []
    what = "1 cell" if len(cells) == 1 else f"{len(cells):,} cells"
    return [f"{what} under no heading not read: {few_of(cells, _MOST_TOLD)}"]
