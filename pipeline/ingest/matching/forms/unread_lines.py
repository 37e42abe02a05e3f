"""The filled lines of a form that nothing reads: each is named by its label, so that none is passed over in silence.

A row of numbers whose heading says nothing leads to no path, and so stands among none of the labels without a place.
"""

from collections.abc import Iterator

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.forms.form import FormCells
from pipeline.ingest.matching.forms.labels import LONGEST_LABEL, Place
from pipeline.ingest.matching.forms.units import is_unit
from pipeline.ingest.matching.sheet.headings import JOINT


def lines_not_read(cells: FormCells, placed: set[str], named: set[str]) -> list[str]:
    """The labels of lines with values of which none is read.

    placed  paths (folded) that are read; named: those that are told to be without a place
    """
    told = {cells.at(path) for path in placed | named}
    lines: dict[Place, list[Place]] = {}
    for place in _values(cells):
        if (label := _label(cells, place)) is not None:
            lines.setdefault(label, []).append(place)
    labels = [label for label, places in lines.items() if told.isdisjoint(places)]
    names = [_name(cells, label, placed) for label in labels]
    return [name for name in dict.fromkeys(names) if folded(name) not in named]


def _values(cells: FormCells) -> Iterator[Place]:
    """Cells that are filled, and neither labels nor the units of numbers."""
    grid, labels = cells.grid, cells.marked.texts
    for row in range(len(grid.rows)):
        for column in grid.filled(row):
            place = row, column
            if place not in labels and place not in cells.heads and not is_unit(grid, row, column):
                yield place


def _label(cells: FormCells, place: Place) -> Place | None:
    """The label of a value: before it in its row, else over it; None for a text that is no value of any."""
    row, column = place
    if (before := cells.marked.left(row, column)) is not None:
        return row, before
    over = cells.marked.over(row, column)
    is_text = len(cells.grid.text(row, column)) > LONGEST_LABEL
    return None if over is None or is_text else (over, column)


def _name(cells: FormCells, label: Place, placed: set[str]) -> str:
    """What a label is named by: with the title over it where the same label is read elsewhere."""
    text = cells.marked.texts[label]
    over = cells.marked.alone_over(*label) or cells.marked.title(*label)
    return JOINT.join((over, text)) if folded(text) in placed and over else text
