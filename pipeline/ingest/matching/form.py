"""One door a sheet: cells beside their labels, and small tables of row labels and headings.

A value's path is the texts that name it, joined: "Door ref" (its label), "Leaf 1 / Hinge" (row label, heading), or
"Head gaps / Leaf 1 / Hinge" with the text in the table's corner. A path is looked up by the same rules when it is
proposed and when a form is read; one that leads to another cell than it was made for is not proposed.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from pipeline.ingest.matching.body import beside
from pipeline.ingest.matching.contents import is_leaf, member_named
from pipeline.ingest.matching.evidence import Evidence, is_tick, look_at
from pipeline.ingest.matching.form_heads import is_number_over_cells
from pipeline.ingest.matching.form_or_list import label_of
from pipeline.ingest.matching.form_runs import runs_of
from pipeline.ingest.matching.form_units import UNIT, is_unit, unit_of_value, value_after
from pipeline.ingest.matching.grid import Cell, Grid, shown
from pipeline.ingest.matching.headings import JOINT
from pipeline.ingest.matching.layout import said, said_in_form
from pipeline.ingest.matching.mapping import folded
from pipeline.ingest.matching.vocabulary import outcome_of, words_of
from pipeline.ingest.records import Column

Place = tuple[int, int]
_LONGEST_LABEL, _FURTHEST_UP = 60, 30
_IS_KEY = 0.9
_LEAF_NUMBER = re.compile(r"[1-9]\d?(?:\.0(?:e0)?)?")


@dataclass
class FormCells:
    """The cells of one form by path: a single row."""

    grid: Grid

    def __post_init__(self) -> None:
        self._index = _index(self.grid)
        self.runs = runs_of(self.grid)
        self._found: dict[str, Place | None] = {}
        self._numbers: dict[str, int] = {}

    @property
    def height(self) -> int:
        """A form is one row."""
        return 1

    def at(self, heading: str) -> Place | None:
        """Where the value of a path stands, from 0; None where its labels are not there."""
        if heading in self.runs:
            return self.runs[heading].place
        if heading not in self._found:
            self._found[heading] = _locate(self.grid, self._index, heading)
        return self._found[heading]

    def places(self, label: str) -> list[Place]:
        """Where a label (folded) stands."""
        return self._index.get(label, [])

    def texts(self, heading: str, is_day: bool = False) -> list[str]:
        """The value of a path."""
        place = self.at(heading)
        if place is None:
            return [""]
        after_colon = _after_colon(self.grid.text(*place))
        if _is_label_of(self.grid.text(*place), heading) and after_colon:
            return [after_colon]
        return [self.grid.day(*place) if is_day else self.grid.text(*place)]

    def own(self, heading: str) -> list[bool]:
        """Whether the value is filled in."""
        return [self.texts(heading) != [""]]

    def rows(self, heading: str | None = None) -> list[int]:
        """The spreadsheet row of a value."""
        place = self.at(heading) if heading is not None else None
        return [place[0] + 1 if place else 1]

    def place(self, heading: str) -> int:
        """A number of its own for each path: values of one column stand under different labels."""
        return self._numbers.setdefault(heading, len(self._numbers) + 1)

    def written(self, heading: str) -> str:
        """The path as the labels write it."""
        if heading in self.runs:
            return self.runs[heading].path
        return JOINT.join(self._written(part) for part in heading.split(JOINT))

    def _written(self, label: str) -> str:
        places = self._index.get(label, [])
        return _label_at(self.grid, *places[0]) if places else label

    @property
    def labels(self) -> list[str]:
        """Every label-like text, as written."""
        return [self._written(label) for label in self._index]

    def above(self, label: str, is_day: bool = False) -> str:
        """What stands beside a label anywhere in the form."""
        places = self._index.get(label, [])
        return next((text for place in places if (text := beside(self.grid, place, label, is_day))), "")

    def over(self, label: str | None, column: Column) -> list[str]:
        """A form has no lines between its rows."""
        return [""]

    def notes(self) -> list[str]:
        """Nothing of a form is passed over."""
        return []


def paths_of(grid: Grid) -> dict[str, Cell]:
    """Every path of a form (as written) with the value it leads to, filled or not."""
    cells = FormCells(grid)
    runs = cells.runs.values()
    found: dict[str, Cell] = {
        one.path: grid.rows[one.place[0]][one.place[1]] for one in runs if one.at and _has(grid, one.place)
    }
    of_runs = {one.place for one in runs}
    for row in range(len(grid.rows)):
        for column in range(len(grid.rows[row])):
            paths = [path for path in _paths_to(grid, row, column, cells) if cells.at(folded(path)) == (row, column)]
            if paths and (row, column) not in of_runs and not _has_its_own_value(grid, row, column):
                best = _best(paths, look_at([_value(grid, cells, paths[0])]))
                found[best] = _value(grid, cells, best)
                unit = JOINT.join((best, UNIT))
                if JOINT not in best and (place := cells.at(folded(unit))) is not None:
                    found[unit] = grid.rows[place[0]][place[1]]
    return found


def _has_its_own_value(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell is the label of what stands beside it, and no value itself."""
    if not _is_label(grid, row, column) or _after_colon(grid.text(row, column)):
        return False
    beside = value_after(grid, row, column)
    has_value = bool(grid.text(row, beside)) and not _is_label(grid, row, beside)
    return has_value and said(label_of(grid.text(row, column))) >= _IS_KEY


def _best(paths: list[str], value: Evidence) -> str:
    """The path that says most of what it leads to; of those the fullest."""
    is_day, is_number = value.are_days, bool(value.values)

    def merit(path: str) -> tuple[float, int]:
        return round(said_in_form(path, is_day=is_day, is_number=is_number), 2), path.count(JOINT)

    return max(paths, key=merit)


def _has(grid: Grid, place: Place) -> bool:
    return place[1] < len(grid.rows[place[0]])


def _value(grid: Grid, cells: FormCells, path: str) -> Cell:
    row, column = cells.at(folded(path)) or (0, 0)
    return _after_colon(grid.text(row, column)) if path == label_of(grid.text(row, column)) else grid.rows[row][column]


def _paths_to(grid: Grid, row: int, column: int, cells: "FormCells") -> Iterator[str]:
    """The paths by which a cell can be named, the fullest first."""
    text = grid.text(row, column)
    if _after_colon(text):
        yield label_of(text)
        return
    label_at = _label_left(grid, row, column)
    heading_at = _heading_above(grid, row, column)
    if heading_at is not None:
        heading = label_of(grid.text(heading_at, column))
        corner = _corner(grid, heading_at, column)
        row_label = _label_at(grid, row, label_at) if label_at is not None else ""
        if row_label and row_label != corner:
            yield from (JOINT.join((corner, row_label, heading)),) if corner else ()
            yield JOINT.join((row_label, heading))
        elif corner:
            yield JOINT.join((corner, heading))
    is_marked = heading_at is not None and outcome_of(grid.text(heading_at, column)) is not None
    if label_at is not None and not is_marked and value_after(grid, row, label_at) == column:
        label = _label_at(grid, row, label_at)
        is_again = len(cells.places(folded(label))) > 1
        title = _title_over(grid, row, label_at) if is_again else ""
        yield JOINT.join((title, label)) if title else label


def _title_over(grid: Grid, row: int, column: int) -> str:
    """The nearest label above in the same column that has nothing beside it: Leaf 2, over those of its readings."""
    for at in range(row - 1, max(-1, row - _FURTHEST_UP), -1):
        if _is_label(grid, at, column) and _is_title(grid, at, column):
            return _label_at(grid, at, column)
    return ""


def _is_title(grid: Grid, row: int, column: int) -> bool:
    """Whether a label without a value names what follows it; one among labels with values may only be left blank."""
    beside = value_after(grid, row, column)
    if grid.text(row, beside) and not _is_label(grid, row, beside):
        return False
    label = _label_at(grid, row, column)
    return not grid.text(row - 1, column) or is_leaf(label) or member_named(label) is not None


def _label_left(grid: Grid, row: int, column: int) -> int | None:
    """The column of the nearest label to the left in a row."""
    return next((at for at in range(column - 1, -1, -1) if _is_label(grid, row, at)), None)


def _heading_above(grid: Grid, row: int, column: int) -> int | None:
    """The row of the nearest label above in a column, beyond values but not beyond a blank row."""
    for at in range(row - 1, max(-1, row - _FURTHEST_UP), -1):
        if grid.is_blank(at):
            return None
        if _is_label(grid, at, column):
            return at
    return None


def _corner(grid: Grid, row: int, column: int) -> str:
    """The text that names a small table: the first of its header row, else a line of its own above it."""
    first = next((at for at in range(column) if grid.text(row, at)), None)
    labels = next((at for at in range(column) if grid.text(row + 1, at)), 0)
    if first is not None and first <= labels:
        return label_of(grid.text(row, first)) if _is_label(grid, row, first) else ""
    filled = [at for at in range(grid.width) if row and grid.text(row - 1, at)]
    return label_of(grid.text(row - 1, filled[0])) if len(filled) == 1 and _is_label(grid, row - 1, filled[0]) else ""


def _is_label(grid: Grid, row: int, column: int) -> bool:
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


def _label_at(grid: Grid, row: int, column: int) -> str:
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
            return bool(text) and words_of(label_of(text)) in (("leaf",), ("leaf", "number")) and not _after_colon(text)
    return False


def _after_colon(text: str) -> str:
    return text.partition(":")[2].strip()


def _is_label_of(text: str, path: str) -> bool:
    return ":" in text and folded(label_of(text)) == path


def _index(grid: Grid) -> dict[str, list[Place]]:
    """Where each label stands."""
    found: dict[str, list[Place]] = {}
    for row in range(len(grid.rows)):
        for column in range(len(grid.rows[row])):
            if _is_label(grid, row, column):
                found.setdefault(folded(_label_at(grid, row, column)), []).append((row, column))
    return found


def _locate(grid: Grid, index: dict[str, list[Place]], path: str) -> Place | None:
    """The cell a path leads to: exactly one, or none."""
    parts = path.split(JOINT)
    if len(parts) == 1:
        return _beside_label(grid, index.get(path, []))
    *corner, row_label, heading = parts
    if heading == UNIT and not corner and (value := _beside_label(grid, index.get(row_label, []))):
        return unit_of_value(grid, *value)
    found = {
        (row, column)
        for row, column in _crossings(index, row_label, heading)
        if not corner or folded(_corner(grid, *_head_of(grid, row, column, heading))) == corner[0]
    }
    if len(found) > 1:
        found = {place for place in found if _is_of_one_table(grid, place, _head_of(grid, *place, heading))}
    under = [] if corner or found else _under_title(grid, index.get(heading, []), row_label)
    if under and not _are_all_labels(grid, under[0][0]):
        return _beside_label(grid, under)
    if not corner and not found:
        found = {
            (row + 1, column)
            for row, column in index.get(heading, [])
            if folded(_corner(grid, row, column)) == row_label and row + 1 < len(grid.rows)
        }
    return found.pop() if len(found) == 1 else None


def _are_all_labels(grid: Grid, row: int) -> bool:
    """Whether a row has several texts and all of them are labels: the headings of a small table."""
    filled = [at for at in range(grid.width) if grid.text(row, at)]
    return len(filled) > 1 and all(_is_label(grid, row, at) for at in filled)


def _under_title(grid: Grid, places: list[Place], title: str) -> list[Place]:
    """Of the places of a label that stands several times, those under a title."""
    return [one for one in places if folded(_title_over(grid, *one)) == title] if len(places) > 1 else []


def _beside_label(grid: Grid, places: list[Place]) -> Place | None:
    """The value of a label that stands once: in its own cell after a colon, else in the next one."""
    if len(places) != 1:
        return None
    row, column = places[0]
    if _after_colon(grid.text(row, column)):
        return row, column
    after = value_after(grid, row, column)
    return None if _is_heading_row(grid, row, after) else (row, after)


def _is_heading_row(grid: Grid, row: int, column: int) -> bool:
    """Whether what follows a label are the headings of a small table."""
    text = grid.text(row, column)
    return bool(text) and text.endswith(":")


def _crossings(index: dict[str, list[Place]], row_label: str, heading: str) -> Iterator[Place]:
    """Cells in the row of a label and under a heading above it, once each."""
    headings = index.get(heading, [])
    for row, column in index.get(row_label, []):
        yield from {(row, at) for top, at in headings if top < row and at > column}


def _is_of_one_table(grid: Grid, place: Place, head: Place) -> bool:
    """Whether no blank row cuts a cell off from the heading over it: the same row label may stand in a later table."""
    return not any(grid.is_blank(row) for row in range(head[0] + 1, place[0]))


def _head_of(grid: Grid, row: int, column: int, heading: str) -> Place:
    above = range(row - 1, -1, -1)
    top = next((at for at in above if folded(label_of(grid.text(at, column))) == heading), row)
    return top, column
