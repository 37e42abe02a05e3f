"""One door a sheet: cells beside their labels, and small tables of row labels and headings.

A value's path is the texts that name it, joined: "Door ref" (its label), "Leaf 1 / Hinge" (row label, heading), or
"Head gaps / Leaf 1 / Hinge" with the text in the table's corner. A path is looked up by the same rules when it is
proposed and when a form is read; one that leads to another cell than it was made for is not proposed.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.evidence import Evidence, look_at
from pipeline.ingest.matching.columns.layout import said, said_in_form
from pipeline.ingest.matching.forms.boxes import boxes_of, is_another_label
from pipeline.ingest.matching.forms.heads import OF_A_LEAF, numbers_its_row
from pipeline.ingest.matching.forms.labels import Labels, Place, answer_in, label_of
from pipeline.ingest.matching.forms.runs import runs_of
from pipeline.ingest.matching.forms.tables import tables_of
from pipeline.ingest.matching.forms.units import UNIT, unit_of_value, value_after
from pipeline.ingest.matching.sheet.body import beside
from pipeline.ingest.matching.sheet.grid import Cell, Grid
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.words.meaning import SURE, reading_meaning
from pipeline.ingest.matching.words.places import SPREAD, is_place
from pipeline.ingest.matching.words.vocabulary import outcome_of, words_of
from pipeline.ingest.records import Column

_IS_KEY = 0.9
_LABEL_AND_VALUE = 2


@dataclass
class FormCells:
    """The cells of one form by path: a single row."""

    grid: Grid

    def __post_init__(self) -> None:
        self.marked = Labels(self.grid)
        self.runs = runs_of(self.grid)
        tables, self.heads = tables_of(self.marked)
        self.tabled = {place for _, place in tables.values()}
        in_tables = self.tabled | self.heads
        self.boxes = tables | {name: one for name, one in boxes_of(self.grid).items() if one[1] not in in_tables}
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
        if heading in self.boxes:
            return self.boxes[heading][1]
        if heading not in self._found:
            self._found[heading] = _locate(self.marked, heading)
        return self._found[heading]

    def texts(self, heading: str, is_day: bool = False) -> list[str]:
        """The value of a path."""
        place = self.at(heading)
        if place is None:
            return [""]
        text = self.grid.text(*place)
        return [_answer(text, heading) or (self.grid.day(*place) if is_day else text)]

    def own(self, heading: str) -> list[bool]:
        """Whether the value is filled in."""
        return [self.texts(heading) != [""]]

    def rows(self, heading: str | None = None) -> list[int]:
        """The spreadsheet row of a value."""
        place = self.at(heading) if heading is not None else None
        return [self.grid.top + (place[0] if place else 0) + 1]

    def place(self, heading: str) -> int:
        """A number of its own for each path: values of one column stand under different labels."""
        return self._numbers.setdefault(heading, len(self._numbers) + 1)

    def written(self, heading: str) -> str:
        """The path as the labels write it."""
        if heading in self.runs:
            return self.runs[heading].path
        if heading in self.marked.places:
            return self._written(heading)
        if heading in self.boxes:
            return self.boxes[heading][0]
        return JOINT.join(self._written(part) for part in heading.split(JOINT))

    def _written(self, label: str) -> str:
        places = self.marked.places.get(label, [])
        return self.marked.texts[places[0]] if places else label

    @property
    def labels(self) -> list[str]:
        """Every label-like text, as written."""
        return [self._written(label) for label in self.marked.places]

    def above(self, label: str, is_day: bool = False) -> str:
        """What stands beside a label anywhere in the form."""
        places = self.marked.places.get(label, [])
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
    places = {one.path: one.place for one in runs if one.at} | dict(cells.boxes.values())
    places = {path: (row, column) for path, (row, column) in places.items() if column < len(grid.rows[row])}
    in_rows = {place for one in runs for place in (one.place, one.label)}
    boxes = [place for _, place in cells.boxes.values() if place not in cells.tabled]
    in_rows |= {(row, at) for below, at in boxes for row in (below - 1, below)} | cells.tabled | cells.heads
    for place in [(row, column) for row, texts in enumerate(grid.texts) for column in range(len(texts))]:
        if place in in_rows or _head_over(cells, place) in in_rows or _has_its_own_value(cells, place):
            continue
        if numbers_its_row(grid, *place):
            continue
        if paths := [path for path in _paths_to(cells, place) if cells.at(folded(path)) == place]:
            best = _best(paths, look_at([_value(grid, paths[0], place)]))
            places[best] = place
            unit = JOINT.join((best, UNIT))
            if JOINT not in best and (of_unit := cells.at(folded(unit))) is not None:
                places[unit] = of_unit
    heads = {_head_over(cells, place) for path, place in places.items() if JOINT in path and grid.text(*place)}
    return {path: _value(grid, path, place) for path, place in places.items() if JOINT in path or place not in heads}


def _head_over(cells: FormCells, place: Place) -> Place | None:
    """Where the heading over a value stands."""
    at = cells.marked.over(*place)
    return None if at is None else (at, place[1])


def _has_its_own_value(cells: FormCells, place: Place) -> bool:
    """Whether a cell is the label of what stands beside it, and no value itself."""
    text = cells.grid.text(*place)
    is_asking = place in cells.marked.texts and not answer_in(text)
    return is_asking and cells.marked.has_value(*place) and said(label_of(text)) >= _IS_KEY


def _best(paths: list[str], value: Evidence) -> str:
    """The path that says most of what it leads to; of those the fullest."""
    is_day, is_number = value.are_days, bool(value.values)

    def merit(path: str) -> tuple[float, int]:
        upper, _, lower = path.rpartition(JOINT)
        # the heading of a box says the outcome, what stands before it the check
        what = upper if upper and outcome_of(lower) is not None else path
        return round(said_in_form(what, is_day=is_day, is_number=is_number), 2), path.count(JOINT)

    return max(paths, key=merit)


def _value(grid: Grid, path: str, place: Place) -> Cell:
    """What a path leads to: a cell, or the answer in the cell of its label."""
    row, column = place
    return _answer(grid.text(row, column), folded(path)) or grid.rows[row][column]


def _answer(text: str, path: str) -> str:
    """What stands behind the label of a cell, where a path (folded) ends with that label; empty where it does not."""
    label = folded(label_of(text))
    return answer_in(text) if path == label or path.rpartition(JOINT)[2] == label else ""


def _paths_to(cells: FormCells, place: Place) -> Iterator[str]:
    """The paths by which a cell can be named, the fullest first."""
    grid, labels = cells.grid, cells.marked
    row, column = place
    text = grid.text(row, column)
    if answer_in(text):
        label = label_of(text)
        # Left: 0 says little without what it is of
        if (said(label) < _IS_KEY or is_place(label)) and (of := labels.of_answers(row, column)):
            yield JOINT.join((of, label))
        yield label
        return
    label_at = labels.left(row, column)
    heading_at = labels.over(row, column)
    if heading_at is not None:
        heading = label_of(grid.text(heading_at, column))
        corner = labels.corner(heading_at, column)
        title = corner or labels.block_title(heading_at)
        row_label = labels.texts[row, label_at] if label_at is not None else ""
        if row_label and row_label != title:
            yield from _in_a_table(title, labels.title_over(heading_at), row_label, heading)
        elif corner:
            yield JOINT.join((corner, heading))
    is_marked = heading_at is not None and outcome_of(grid.text(heading_at, column)) is not None
    is_of_several = is_marked or labels.is_under_places(row, column) or _is_of_a_spread(labels, row, label_at)
    if label_at is not None and not is_of_several and value_after(grid, row, label_at) == column:
        label = labels.texts[row, label_at]
        is_again = len(labels.places[folded(label)]) > 1
        title = labels.title(row, label_at) if is_again else ""
        yield JOINT.join((title, label)) if title else label
        # of several values in a row each has a place that another row says
        over = labels.alone_over(row, label_at) if len(grid.filled(row)) == _LABEL_AND_VALUE else ""
        if over and over != title and said(JOINT.join((over, label))) > said(label):
            # Bottom left - top right says more under Frame diagonals
            yield JOINT.join((over, label))


def _in_a_table(title: str, over: str, row_label: str, heading: str) -> Iterator[str]:
    """The paths of a cell in a small table, by its corner or title and by a title right over its headings as well."""
    paths = [JOINT.join((title, row_label, heading))] if title else []
    paths.append(JOINT.join((row_label, heading)))
    # Hinge 1 of Panel 2 says more under Hinge packers
    titled = [JOINT.join((over, row_label, heading))] if over and over not in (title, row_label) else []
    is_known = any(said(path) >= SURE for path in paths + titled)
    # that rows are leaves is said by their labels too: a person looks for the title
    yield from titled if titled and not is_known and words_of(title) in OF_A_LEAF else paths + titled


def _is_of_a_spread(labels: Labels, row: int, label_at: int | None) -> bool:
    """Whether a row holds several numbers of what is read along a member; its label says of none where."""
    if label_at is None or not labels.are_numbers_after(row, label_at):
        return False
    meaning = reading_meaning(labels.texts[row, label_at])
    return meaning is not None and meaning.name in SPREAD


def _locate(labels: Labels, path: str) -> Place | None:
    """The cell a path leads to: exactly one, or none."""
    grid, places = labels.grid, labels.places
    parts = path.split(JOINT)
    if len(parts) == 1 or path in places:
        return _beside_label(grid, places.get(path, []))
    *corner, row_label, heading = parts
    if heading == UNIT and not corner and (value := _beside_label(grid, places.get(row_label, []))):
        return unit_of_value(grid, *value)
    if not corner and (answers := _answers_beside(labels, row_label, heading)):
        return answers[0] if len(answers) == 1 else None
    found = set(_crossings(places, row_label, heading))
    if corner:
        tops = {place: _head_of(grid, *place, heading) for place in found}
        found = _titled(labels, tops, corner[0])
    if len(found) > 1:
        found = {place for place in found if _is_of_one_table(grid, place, _head_of(grid, *place, heading))}
    under = [] if corner or found else _under_title(labels, places.get(heading, []), row_label)
    if under and not _are_all_labels(labels, under[0][0]):
        return _beside_label(grid, under)
    if not corner and not found:
        found = {
            (row + 1, column)
            for row, column in places.get(heading, [])
            if folded(labels.corner(row, column)) == row_label and row + 1 < len(grid.rows)
        }
    return found.pop() if len(found) == 1 else None


def _titled(labels: Labels, tops: dict[Place, Place], title: str) -> set[Place]:
    """Of cells those whose small table has a title (folded): in its corner, else over all of its block, or over it."""
    titles = {
        place: (labels.corner(*head), labels.block_title(head[0]), labels.title_over(head[0]))
        for place, head in tops.items()
    }
    found = ({place for place, said_over in titles.items() if folded(said_over[n]) == title} for n in range(3))
    return next(filter(None, found), set())


def _answers_beside(labels: Labels, row_label: str, heading: str) -> list[Place]:
    """The cells that hold a label and its answer, Left: 0, beside or under the label of them all."""
    there = [place for place in labels.places.get(heading, []) if answer_in(labels.grid.text(*place))]
    return [place for place in there if folded(labels.of_answers(*place)) == row_label]


def _are_all_labels(labels: Labels, row: int) -> bool:
    """Whether a row has several texts and all of them are labels: the headings of a small table."""
    filled = labels.grid.filled(row)
    return len(filled) > 1 and all((row, at) in labels.texts for at in filled)


def _under_title(labels: Labels, places: list[Place], title: str) -> list[Place]:
    """Of the places of a label those under a title."""
    return [
        one
        for one in places
        if title == folded(labels.alone_over(*one)) or (len(places) > 1 and title == folded(labels.title(*one)))
    ]


def _beside_label(grid: Grid, places: list[Place]) -> Place | None:
    """The value of a label that stands once: in its own cell after a colon, else in the next one."""
    if len(places) != 1:
        return None
    row, column = places[0]
    if answer_in(grid.text(row, column)):
        return row, column
    after = value_after(grid, row, column)
    if is_another_label(grid, row, column, after):
        return None
    return None if _is_heading_row(grid, row, after) else (row, after)


def _is_heading_row(grid: Grid, row: int, column: int) -> bool:
    """Whether what follows a label are the headings of a small table."""
    text = grid.text(row, column)
    return bool(text) and text.endswith(":")


def _crossings(places: dict[str, list[Place]], row_label: str, heading: str) -> Iterator[Place]:
    """Cells in the row of a label and under a heading above it, once each."""
    headings = places.get(heading, [])
    for row, column in places.get(row_label, []):
        yield from {(row, at) for top, at in headings if top < row and at > column}


def _is_of_one_table(grid: Grid, place: Place, head: Place) -> bool:
    """Whether no blank row cuts a cell off from the heading over it: the same row label may stand in a later table."""
    return not any(grid.is_blank(row) for row in range(head[0] + 1, place[0]))


def _head_of(grid: Grid, row: int, column: int, heading: str) -> Place:
    above = range(row - 1, -1, -1)
    top = next((at for at in above if folded(label_of(grid.text(at, column))) == heading), row)
    return top, column
