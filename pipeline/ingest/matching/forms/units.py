"""What stands beside a label in a form: next to it, behind its unit in a cell of its own, or in a column of values.

How such forms look is common practice, no source.
"""

from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.columns.evidence import is_tick
from pipeline.ingest.matching.forms.heads import stretch_around
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.words.heading_units import unit_named

# The path of a unit is that of its number and this.
UNIT = "unit"
# A label and its value, how many columns apart; so many values that are no words show a column of values.
_LABEL_AND_VALUE, _FURTHEST, _SEVERAL = 2, 4, 2


def is_unit(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell is the unit of a number right before or behind it."""
    text = grid.text(row, column)
    beside = (column - 1, grid.column_after(row, column))
    return unit_named(text) is not None and any(_is_number(grid, row, at) for at in beside)


def value_after(grid: Grid, row: int, label_at: int) -> int:
    """The column of what stands beside a label: in the next cell, or behind the unit that stands there."""
    at = grid.column_after(row, label_at)
    if is_unit(grid, row, at) and not _is_number(grid, row, at - 1):
        return grid.column_after(row, at)
    return at if grid.text(row, at) else _value_further_on(grid, row, label_at) or at


def _value_further_on(grid: Grid, row: int, label_at: int) -> int | None:
    """The column of the only other cell of a row, a little further on, where no other row down to it says more.

    Labels in A, ticks in C. Words are taken for a value only among others that are none, as they may be labels.
    """
    places = grid.filled(row)
    if len(places) != _LABEL_AND_VALUE or places[0] != label_at or places[1] - label_at > _FURTHEST:
        return None
    at = places[1]
    first, last = stretch_around(grid.texts, row, any)
    rows = range(first, last + 1)
    if any(not set(grid.filled(one)) <= set(places) for one in rows):
        return None
    texts = filter(None, (grid.text(one, at) for one in rows))
    is_column = sum(map(_is_no_word, texts)) >= _SEVERAL
    return at if is_column or _is_no_word(grid.text(row, at)) else None


def _is_no_word(text: str) -> bool:
    return is_tick(text) or not any(map(str.isalpha, text))


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
