"""Small tables of a form that one heading over a cell does not name.

Hinge | Lock stand again under Head gap and under Threshold gap, with a row for each leaf; Left | Centre | Right stand
over a row that begins with no more than its unit. How such forms look is common practice, no source.
"""

from collections.abc import Iterator
from operator import itemgetter

from pipeline.ingest.matching.forms.labels import Labels, Place, answer_in, by_path, label_of
from pipeline.ingest.matching.forms.units import is_unit
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.words.heading_units import split_unit, unit_named
from pipeline.ingest.matching.words.meaning import SURE, reading_meaning
from pipeline.ingest.matching.words.places import is_place

_FEWEST = 2


def tables_of(labels: Labels) -> tuple[dict[str, tuple[str, Place]], set[Place]]:
    """By folded path: the path, and the place it leads to; and the headings and labels of the rows that name them.

    Paths that would lead to two cells are left out.
    """
    found: list[tuple[str, Place]] = []
    heads: set[Place] = set()
    for row in range(len(labels.grid.rows) - 1):
        for cells, names in (_grouped(labels, row), _beside_a_unit(labels, row)):
            found += cells
            heads |= names
    return by_path(found, itemgetter(0)), heads


def _grouped(labels: Labels, row: int) -> tuple[list[tuple[str, Place]], set[Place]]:
    """The cells under a row of places that stand under the headings of what was read."""
    grid = labels.grid
    columns = grid.filled(row)
    if not row or len(columns) <= _FEWEST or not _is_worded(labels, row, columns[1:]):
        return [], set()
    first, *under = columns
    if is_place(grid.text(row, first)):
        # it is read there as well, and no label of the rows
        return [], set()
    over = _over(grid, row - 1, under)
    tops = {at for at in grid.filled(row - 1) if at > first}
    if not over or any(not _is_read(over[at], grid.text(row, at)) for at in over) or not tops <= set(over):
        return [], set()
    found: list[tuple[str, Place]] = []
    heads = {(row, at) for at in columns} | {(row - 1, at) for at in grid.filled(row - 1)}
    for below in _rows_under(grid, row, first):
        heads.add((below, first))
        name = labels.texts.get((below, first)) or label_of(grid.text(below, first))
        parts = ([name, over.get(at, ""), label_of(grid.text(row, at))] for at in under)
        found += [(JOINT.join(filter(None, part)), (below, at)) for part, at in zip(parts, under, strict=True)]
    return (found, heads) if found else ([], set())


def _is_worded(labels: Labels, row: int, columns: list[int]) -> bool:
    """Whether cells are headings, several of them places."""
    texts = [labels.grid.text(row, at) for at in columns]
    are_labels = all((row, at) in labels.texts and not answer_in(labels.grid.text(row, at)) for at in columns)
    return are_labels and sum(map(is_place, texts)) >= _FEWEST


def _over(grid: Grid, row: int, columns: list[int]) -> dict[int, str]:
    """By column, the heading that stands over a place: over the column itself, or begun in one before."""
    areas = [(left, right) for top, left, bottom, right in grid.merges if top <= row <= bottom]
    merged = {at: left for left, right in areas for at in range(left, right + 1)}
    over: dict[int, str] = {}
    now = ""
    for at in range(columns[0], columns[-1] + 1):
        now = grid.text(row, at) or grid.text(row, merged.get(at, at)) or now
        if at in columns and now and is_place(grid.text(row + 1, at)):
            over[at] = label_of(now)
    return over


def _is_read(heading: str, place: str) -> bool:
    """Whether a heading and the place under it say a reading."""
    meaning = reading_meaning(JOINT.join((heading, place)))
    return meaning is not None and meaning.sure >= SURE and reading_meaning(place) is None


def _rows_under(grid: Grid, row: int, first: int) -> Iterator[int]:
    """The rows of a table: labelled, and neither blank nor under one that is."""
    for below in range(row + 1, len(grid.rows)):
        if not grid.text(below, first):
            return
        yield below


def _beside_a_unit(labels: Labels, row: int) -> tuple[list[tuple[str, Place]], set[Place]]:
    """The cells under a row of places and behind the unit that begins their row."""
    grid = labels.grid
    columns = grid.filled(row)
    below = row + 1
    is_labelled = len(columns) > _FEWEST and _is_worded(labels, row, columns[1:])
    if not is_labelled or not all(is_place(grid.text(row, at)) for at in columns[1:]):
        return [], set()
    first, *places = columns
    corner, unit = label_of(grid.text(row, first)), grid.text(below, first)
    meaning = reading_meaning(corner)
    if meaning is None or meaning.sure < SURE or not (is_unit(grid, below, first) or unit_named(unit)):
        return [], set()
    named = corner if split_unit(corner)[1] else f"{corner} ({unit})"
    found = [(JOINT.join((named, label_of(grid.text(row, at)))), (below, at)) for at in places]
    return found, {(row, at) for at in columns} | {(below, first)}
