"""Rows of readings in a form under a row that says where each was taken: Distance from left | 0 | 900 | 1800.

The distances differ from door to door, so each reading is named by its place in the row and takes its distance from the
cell above it. Over rows in which a jamb is read, 300 | 1000 | 1800 are heights without a word that says so. How such
forms look is common practice, no source.
"""

import re
from dataclasses import dataclass
from itertools import pairwise
from operator import attrgetter

from pipeline.ingest.matching.forms.heads import of_a_jamb
from pipeline.ingest.matching.forms.labels import by_path, label_of
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.words.meaning import SURE, column_likeness, reading_meaning
from pipeline.ingest.matching.words.places import SMALLEST_DISTANCE
from pipeline.ingest.matching.words.vocabulary import split_unit
from pipeline.ingest.records import READINGS

_SAYS_WHERE, _FEWEST = 0.9, 2
_DISTANCE = re.compile(r"\d+(?:\.\d+)?(?:e0)?(?:\s*mm)?", re.ASCII)
# Left alone may be a jamb, and what stands beside it its fixings.
_OF_DISTANCES = re.compile(r"\b(?:from|along|at|mm|dist|pos|stat|chain|offset|where|place|loc)", re.IGNORECASE)
# Over rows in which jambs are read, numbers from here on are heights in mm; a blank corner over them is named so.
_LOWEST, _HEIGHTS = 100.0, "mm up"
_SAYS_HEIGHTS = re.compile(r"\b(?:jambs?|plumb|uprights?|heights?|up)\b", re.IGNORECASE)
_LATER = re.compile(r" \[(?!1\])\d+\]$| / (?!1$)\d{1,2}$")


@dataclass(frozen=True)
class InRun:
    """A cell of a row of readings, or of their distances. at: the path of its distance; empty for a distance itself."""

    path: str
    place: tuple[int, int]
    at: str


def runs_of(grid: Grid) -> dict[str, InRun]:
    """By folded path, every cell of such rows; of paths that lead to two cells none."""
    found = [one for row in range(len(grid.rows)) for one in _run(grid, row)]
    return by_path(found, attrgetter("path"))


def is_later_in_run(heading: str) -> bool:
    """Whether a path is of a second or later reading of a row, or under a later number: a narrow door has fewer."""
    return bool(_LATER.search(heading))


def _run(grid: Grid, row: int) -> list[InRun]:
    """The cells of the rows under a row of distances, and its own."""
    label_at = next(iter(grid.filled(row)), None)
    columns = [] if label_at is None else _distances(grid, row, label_at)
    are_heights = not columns
    if are_heights:
        label_at, columns = _heights(grid, row)
    if label_at is None or not columns:
        return []
    title = _title(grid, row)
    named = _path(title, grid.text(row, label_at) or _HEIGHTS)
    distances = [f"{named} [{n}]" for n in range(1, len(columns) + 1)]
    cells = [InRun(path, (row, at), "") for path, at in zip(distances, columns, strict=True)]
    below = row + 1
    while below < len(grid.rows) and (label := grid.text(below, label_at)) and not _distances(grid, below, label_at):
        if are_heights and not _is_of_a_jamb(label):
            break
        cells += [
            InRun(f"{_path(title, label)} [{n}]", (below, at), distance)
            for n, (at, distance) in enumerate(zip(columns, distances, strict=True), start=1)
        ]
        below += 1
    return cells if below > row + 1 else []


def _distances(grid: Grid, row: int, label_at: int) -> list[int]:
    """The columns of a row's distances in mm, in their order; none where its label does not say that it holds them."""
    label = label_of(grid.text(row, label_at))
    if not _OF_DISTANCES.search(label) or split_unit(label)[1] not in (None, "mm"):
        return []
    if column_likeness(READINGS.name, "position_mm", label) < _SAYS_WHERE:
        return []
    columns = [at for at in range(label_at + 1, grid.width) if _DISTANCE.fullmatch(grid.text(row, at))]
    numbers = [float(re.split(r"\s*mm|e0", grid.text(row, at))[0]) for at in columns]
    is_rising = len(numbers) >= _FEWEST and all(a < b for a, b in pairwise(numbers))
    return columns if is_rising and numbers[-1] >= SMALLEST_DISTANCE else []


def _heights(grid: Grid, row: int) -> tuple[int | None, list[int]]:
    """The column of the labels, and those of bare heights, over a row in which a jamb is read: none is so far off."""
    below = grid.filled(row + 1) if row + 1 < len(grid.rows) else []
    label_at = below[0] if below else None
    if label_at is None or not _is_of_a_jamb(grid.text(row + 1, label_at)):
        return None, []
    corner = label_of(grid.text(row, label_at))
    meaning = reading_meaning(corner)
    is_other = meaning is not None and meaning.sure >= SURE and of_a_jamb(corner) is None
    if (corner and not _SAYS_HEIGHTS.search(corner)) or is_other:
        return None, []
    columns = [at for at in grid.filled(row) if at > label_at]
    texts = [text for at in columns if _DISTANCE.fullmatch(text := grid.text(row, at))]
    numbers = [float(re.split(r"\s*mm|e0", text)[0]) for text in texts]
    is_rising = len(numbers) == len(columns) >= _FEWEST and all(a < b for a, b in pairwise(numbers))
    return (label_at, columns) if is_rising and numbers[0] >= _LOWEST else (None, [])


def _is_of_a_jamb(label: str) -> bool:
    """Whether a label names how far off a jamb is, and not at which height."""
    meaning = of_a_jamb(label_of(label))
    return meaning is not None and not (meaning.place.position_mm or meaning.place.station)


def _title(grid: Grid, row: int) -> str:
    """The text that stands alone in the row above."""
    above = [grid.text(row - 1, at) for at in grid.filled(row - 1)]
    return above[0] if len(above) == 1 and any(map(str.isalpha, above[0])) else ""


def _path(title: str, label: str) -> str:
    return JOINT.join(label_of(text) for text in (title, label) if text)
