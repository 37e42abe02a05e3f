"""Boxes of a form: a row of labels with what they ask for in the row below, each under its own.

JOB NUMBER | CREW | DATE FITTED over HO60 | Otter | 05/02/2025. How such forms look is common practice, no source.
"""

from datetime import date, datetime
from operator import itemgetter

from pipeline.ingest.matching.columns.evidence import is_tick
from pipeline.ingest.matching.columns.layout import said
from pipeline.ingest.matching.forms.heads import is_word
from pipeline.ingest.matching.forms.labels import Place, answer_in, by_path, label_of
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.words.meaning import column_likeness
from pipeline.ingest.records import DAY, INSTALLS

# How surely a label says a column of a record; of a row of labels at least half must.
_SURE, _MOSTLY, _LETTERS, _SEVERAL = 0.9, 0.5, 2, 2


def boxes_of(grid: Grid) -> dict[str, tuple[str, Place]]:
    """By folded label: the label, and the place of what stands under it; labels that stand twice are left out."""
    found = [one for row in range(len(grid.rows) - 1) if _are_boxes(grid, row) for one in _boxes(grid, row)]
    return by_path(found, itemgetter(0))


def _boxes(grid: Grid, row: int) -> list[tuple[str, Place]]:
    return [(label_of(grid.text(row, at)), (row + 1, at)) for at in grid.filled(row)]


def _are_boxes(grid: Grid, row: int) -> bool:
    """Whether a row holds labels, and the one below what they ask for and nothing else; then the boxes end."""
    labels, values = grid.filled(row), grid.filled(row + 1)
    # a first label with nothing under it stands in the corner of a small table
    if not labels or not values or values[0] != labels[0] or not set(values) <= set(labels):
        return False
    if row + 2 < len(grid.rows) and not grid.is_blank(row + 2) and not _are_boxes(grid, row + 2):
        return False
    if any(_is_answer(grid, row, at) for at in labels):
        return False
    known = sum(said(grid.text(row, at)) >= _SURE for at in labels)
    are_labels = known >= max(1, _MOSTLY * len(labels)) and all(_is_text(grid, row, at) for at in labels)
    return are_labels and _are_values(grid, row + 1, values)


def _are_values(grid: Grid, row: int, values: list[int]) -> bool:
    """Whether what stands in a row is no further row of labels, though a value may read as one: Replacement, Masonry.

    Such a word is the value of what it names, or the only one among numbers and days: a customer Mark.
    """
    texts = {at: grid.text(row, at) for at in values}
    # a letter or two is a value, whatever it is short for elsewhere: W for west
    naming = [at for at, text in texts.items() if len(text) > _LETTERS and said(text) >= _SURE]
    if all(_names_the_same(grid.text(row - 1, at), texts[at]) for at in naming):
        return len(naming) < len(values) or not naming
    counted = [at for at, text in texts.items() if at not in naming and any(map(str.isdecimal, text))]
    return len(naming) == 1 and len(counted) >= _SEVERAL


def is_row_of_labels(grid: Grid, row: int) -> bool:
    """Whether the cells of a row are labels of what stands under them, so that none is what another asks for."""
    labels = grid.filled(row)
    values = grid.filled(row + 1) if row + 1 < len(grid.rows) else []
    if len(labels) <= _SEVERAL or values[:1] != labels[:1] or not set(values) <= set(labels):
        return False
    known = sum(said(grid.text(row, at)) >= _SURE for at in labels)
    return known > _MOSTLY * len(labels) and all(_is_text(grid, row, at) for at in labels)


def is_another_label(grid: Grid, row: int, label_at: int, column: int) -> bool:
    """Whether a cell beside a label is the next one of a row of labels, and not what the first asks for."""
    text = grid.text(row, column)
    is_label = said(text) >= _SURE and not _names_the_same(grid.text(row, label_at), text)
    return is_label and is_row_of_labels(grid, row)


def _names_the_same(label: str, text: str) -> bool:
    """Whether a text names a column of the doors that a label names as well: New or replacement and Replacement."""
    return any(
        column_likeness(INSTALLS.name, one.name, label) >= _SURE <= column_likeness(INSTALLS.name, one.name, text)
        for one in INSTALLS.columns
    )


def _is_answer(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell answers a check before it: a tick word over another, or one that is no label of a day as well."""
    text = grid.text(row, column)
    if not is_tick(text):
        return False
    days = (column.name for column in INSTALLS.columns if column.kind == DAY)
    names_day = any(column_likeness(INSTALLS.name, name, text) >= _SURE for name in days)
    return not names_day or is_tick(grid.text(row + 1, column))


def _is_text(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell is a label by its looks: words, and none that are answered in the same cell."""
    text, cell = grid.text(row, column), grid.rows[row][column]
    is_written = not isinstance(cell, date | datetime | int | float)
    return is_written and not answer_in(text) and is_word(text)
