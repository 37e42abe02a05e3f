"""Units in cells of their own in a form: behind the number they are of, or between it and its label.

How such forms look is common practice, no source.
"""

from pipeline.ingest.cells import typed_number
from pipeline.ingest.matching.grid import Grid
from pipeline.ingest.matching.vocabulary import unit_named

# The path of a unit is that of its number and this.
UNIT = "unit"


def is_unit(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell is the unit of a number right before or behind it."""
    text = grid.text(row, column)
    beside = (column - 1, grid.column_after(row, column))
    return unit_named(text) is not None and any(_is_number(grid, row, at) for at in beside)


def value_after(grid: Grid, row: int, label_at: int) -> int:
    """The column of what stands beside a label: in the next cell, or behind the unit that stands there."""
    at = grid.column_after(row, label_at)
    is_between = is_unit(grid, row, at) and not _is_number(grid, row, at - 1)
    return grid.column_after(row, at) if is_between else at


def unit_of_value(grid: Grid, row: int, column: int) -> tuple[int, int] | None:
    """Where the unit of a number stands, if it has a cell of its own."""
    if not _is_number(grid, row, column):
        return None
    after = grid.column_after(row, column)
    if is_unit(grid, row, after):
        return row, after
    return (row, column - 1) if column and is_unit(grid, row, column - 1) else None


def _is_number(grid: Grid, row: int, column: int) -> bool:
    try:
        float(typed_number(grid.text(row, column)).replace(",", "."))
    except ValueError:
        return False
    return True
