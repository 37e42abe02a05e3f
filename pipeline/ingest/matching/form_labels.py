"""What is a label in a form, and which labels stand over and beside a cell."""

import re
from datetime import date, datetime

from pipeline.ingest.matching.contents import is_leaf, member_named
from pipeline.ingest.matching.evidence import is_tick, look_at
from pipeline.ingest.matching.form_heads import is_number_over_cells
from pipeline.ingest.matching.form_units import is_unit, value_after
from pipeline.ingest.matching.grid import Grid, shown
from pipeline.ingest.matching.vocabulary import outcome_of, words_of

_LONGEST_LABEL, _FURTHEST_UP = 60, 30
_LEAF_NUMBER = re.compile(r"[1-9]\d?(?:\.0(?:e0)?)?")


def label_of(text: str) -> str:
    """A text as a label: what stands before a colon."""
    return " ".join(text.partition(":")[0].split())


def answer_in(text: str) -> str:
    """What stands behind the colon of a text."""
    return text.partition(":")[2].strip()


def title_over(grid: Grid, row: int, column: int) -> str:
    """The nearest label above in the same column that has nothing beside it: Leaf 2, over those of its readings."""
    for at in range(row - 1, max(-1, row - _FURTHEST_UP), -1):
        if is_label(grid, at, column) and _is_title(grid, at, column):
            return label_in(grid, at, column)
    return ""


def _is_title(grid: Grid, row: int, column: int) -> bool:
    """Whether a label without a value names what follows it; one among labels with values may only be left blank."""
    beside = value_after(grid, row, column)
    if grid.text(row, beside) and not is_label(grid, row, beside):
        return False
    label = label_in(grid, row, column)
    return not grid.text(row - 1, column) or is_leaf(label) or member_named(label) is not None


def label_left(grid: Grid, row: int, column: int) -> int | None:
    """The column of the nearest label to the left in a row."""
    return next((at for at in range(column - 1, -1, -1) if is_label(grid, row, at)), None)


def heading_over(grid: Grid, row: int, column: int) -> int | None:
    """The row of the nearest label above in a column, beyond values but not beyond a blank row."""
    for at in range(row - 1, max(-1, row - _FURTHEST_UP), -1):
        if grid.is_blank(at):
            return None
        if is_label(grid, at, column):
            return at
    return None


def corner_of(grid: Grid, row: int, column: int) -> str:
    """The text that names a small table: the first of its header row, else a line of its own above it."""
    first = next((at for at in range(column) if grid.text(row, at)), None)
    labels = next((at for at in range(column) if grid.text(row + 1, at)), 0)
    if first is not None and first <= labels and not _is_over_a_strip(grid, row, first):
        return label_of(grid.text(row, first)) if is_label(grid, row, first) else ""
    filled = [at for at in range(grid.width) if row and grid.text(row - 1, at)]
    return label_of(grid.text(row - 1, filled[0])) if len(filled) == 1 and is_label(grid, row - 1, filled[0]) else ""


def _is_over_a_strip(grid: Grid, row: int, column: int) -> bool:
    """Whether a heading stands over its own value in a single row of values, and so is no corner."""
    is_single = row + 2 >= len(grid.rows) or grid.is_blank(row + 2)
    return is_single and bool(grid.text(row + 1, column)) and not is_label(grid, row + 1, column)


def is_label(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell names what stands beside or under it."""
    cells = grid.rows[row]
    cell = cells[column] if column < len(cells) else ""
    text = shown(cell)
    if is_unit(grid, row, column):
        return False
    if _is_leaf_number(grid, row, column) or is_number_over_cells(grid, row, column):
        return True
    if is_tick(text) and _heads_outcomes(grid, row, column):
        return True
    if not text or len(text) > _LONGEST_LABEL or isinstance(cell, date | datetime | int | float):
        return False
    if is_tick(text) and not _stands_before_a_day(grid, row, column):
        return False
    return any(char.isalpha() for char in text) and not re.fullmatch(r"[\d.,/ -]+\s*\w{0,2}", text)


def _stands_before_a_day(grid: Grid, row: int, column: int) -> bool:
    """Whether a day follows, so that a text is its label: Fitted, which may say of a cover that it is."""
    after = grid.column_after(row, column)
    cells = grid.rows[row]
    return after < len(cells) and look_at([cells[after]]).are_days


def _heads_outcomes(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell is one of the headings OK, Not OK, N/A, under which a mark says the outcome of a check."""
    cells = grid.texts[row]
    first = last = column
    while first > 0 and outcome_of(cells[first - 1]):
        first -= 1
    while last + 1 < len(cells) and outcome_of(cells[last + 1]):
        last += 1
    return {"pass", "fail"} <= {outcome_of(text) for text in cells[first : last + 1]}


def label_in(grid: Grid, row: int, column: int) -> str:
    """The label in a cell; a bare number under "Leaf" is the label of its row: Leaf 2."""
    text = grid.text(row, column)
    is_leaf = _LEAF_NUMBER.fullmatch(text) and not is_number_over_cells(grid, row, column)
    return f"Leaf {int(float(text))}" if is_leaf else label_of(text)


def _is_leaf_number(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell is the number of a leaf: a small number in a column headed so, only numbers between."""
    if not _LEAF_NUMBER.fullmatch(grid.text(row, column)):
        return False
    for above in range(row - 1, max(-1, row - _FURTHEST_UP), -1):
        text = grid.text(above, column)
        if not _LEAF_NUMBER.fullmatch(text):
            return bool(text) and words_of(label_of(text)) in (("leaf",), ("leaf", "number")) and not answer_in(text)
    return False
