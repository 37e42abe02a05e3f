"""Rows of readings in a form under a row that says where each was taken: Distance from left | 0 | 900 | 1800.

The distances differ from door to door, so each reading is named by its place in the row and takes its distance from the
cell above it. Over rows in which a jamb is read, 300 | 1000 | 1800 are heights without a word that says so. How such
forms look is common practice, no source. A label may say what is read as well as where, see what_and_where.py.
"""

import re
from dataclasses import dataclass
from itertools import pairwise
from operator import attrgetter

from pipeline.ingest.matching.forms.heads import of_a_jamb
from pipeline.ingest.matching.forms.labels import Place, by_path, label_of
from pipeline.ingest.matching.forms.what_and_where import member_along, row_named, says_where, what_is_read
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.words.meaning import SURE, reading_meaning
from pipeline.ingest.matching.words.places import SMALLEST_DISTANCE

_FEWEST = 2
_DISTANCE = re.compile(r"\d+(?:\.\d+)?(?:e0)?(?:\s*mm)?", re.ASCII)
# Under a label that says what is read too, numbers that lie nearer together than this share of the last are readings.
_APART = 0.25
# Over rows in which jambs are read, numbers from here on are heights in mm; a blank corner over them is named so.
_LOWEST, _HEIGHTS = 100.0, "mm up"
_SAYS_HEIGHTS = re.compile(r"\b(?:jambs?|plumb|uprights?|heights?|up)\b", re.IGNORECASE)
_LATER = re.compile(r" \[(?!1\])\d+\]$| / (?!1$)\d{1,2}$")


@dataclass(frozen=True)
class InRun:
    """A cell of a row of readings, or of their distances. at: the path of its distance; empty for a distance itself.

    label  where the label of its row stands
    alone  its path by the label of its row alone, by which mappings may know it
    """

    path: str
    place: Place
    at: str
    label: Place
    alone: str = ""


def runs_of(grid: Grid) -> dict[str, InRun]:
    """By folded path, every cell of such rows; of paths that lead to two cells none."""
    found = [one for row in range(len(grid.rows)) for one in _run(grid, row)]
    alone = [one for one in found if one.alone != one.path]
    return by_path(alone, attrgetter("alone")) | by_path(found, attrgetter("path"))


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
    title, text = _title(grid, row), grid.text(row, label_at)
    what = "" if are_heights else what_is_read(text)
    named = _path(title, text.replace(":", "") if what else text or _HEIGHTS)
    distances = [f"{named} [{n}]" for n in range(1, len(columns) + 1)]
    start = row, label_at
    cells = [InRun(path, (row, at), "", start, path) for path, at in zip(distances, columns, strict=True)]
    rows = _under_what(grid, start, columns, what) if what else _under(grid, start, are_heights)
    for below, path in rows:
        alone = _path(title, grid.text(below, label_at)) or path
        cells += [
            InRun(f"{path} [{n}]", (below, at), distance, (below, label_at), f"{alone} [{n}]")
            for n, (at, distance) in enumerate(zip(columns, distances, strict=True), start=1)
        ]
    return cells if rows else []


def _under(grid: Grid, start: Place, are_heights: bool) -> list[tuple[int, str]]:
    """(row, path) of the rows of values under a row of distances, down to the first without a label."""
    row, label_at = start
    title, along = _title(grid, row), member_along(grid.text(row, label_at))
    found = []
    for below in range(row + 1, len(grid.rows)):
        label = grid.text(below, label_at)
        if not label or _distances(grid, below, label_at) or (are_heights and not _is_of_a_jamb(label)):
            break
        of_member = row_named(along, label_of(label)) if along and not title else ""
        found.append((below, of_member or _path(title, label)))
    return found


def _under_what(grid: Grid, start: Place, columns: list[int], what: str) -> list[tuple[int, str]]:
    """The same where the label of the distances says what is read: down to the first row that is none of it."""
    row, label_at = start
    found: list[tuple[int, str]] = []
    for below in range(row + 1, len(grid.rows)):
        label = label_of(grid.text(below, label_at))
        is_bare = not label and not found and len(set(grid.filled(below)) & set(columns)) >= _FEWEST
        path = row_named(what, label, _title(grid, row)) if label or is_bare else ""
        if not path or _distances(grid, below, label_at):
            break
        found.append((below, path))
    return found


def _distances(grid: Grid, row: int, label_at: int) -> list[int]:
    """The columns of a row's distances in mm, in their order; none where its label does not say that it holds them."""
    text = grid.text(row, label_at)
    is_bare = says_where(label_of(text))
    if not is_bare and not what_is_read(text):
        return []
    columns = [at for at in range(label_at + 1, grid.width) if _DISTANCE.fullmatch(grid.text(row, at))]
    numbers = [float(re.split(r"\s*mm|e0", grid.text(row, at))[0]) for at in columns]
    is_rising = len(numbers) >= _FEWEST and all(a < b for a, b in pairwise(numbers))
    if not is_rising or numbers[-1] < SMALLEST_DISTANCE:
        return []
    return columns if is_bare or numbers[-1] - numbers[0] >= _APART * numbers[-1] else []


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
