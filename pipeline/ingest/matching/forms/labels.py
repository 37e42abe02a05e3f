"""What is a label in a form, and which labels stand over and beside a cell."""

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import TypeVar

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.evidence import is_tick, look_at
from pipeline.ingest.matching.forms.heads import OF_A_LEAF, is_height_of_a_row, is_number_over_cells, stretch_around
from pipeline.ingest.matching.forms.units import is_unit, value_after
from pipeline.ingest.matching.sheet.grid import Grid, shown
from pipeline.ingest.matching.words.contents import is_leaf, member_named
from pipeline.ingest.matching.words.meaning import SURE, check_meaning
from pipeline.ingest.matching.words.places import is_distance, is_place
from pipeline.ingest.matching.words.vocabulary import outcome_of, words_of
from pipeline.ingest.texts.directions import without_way

Place = tuple[int, int]
_T = TypeVar("_T")
LONGEST_LABEL, _FURTHEST_UP, _SEVERAL = 60, 30, 2
_SIDES, _COLON = re.compile(r"\d[\d.,]*\s*(?:mm|m)?\s*[x×*]\s*\d[\d.,]*\s*(?:mm|m)?"), ":"
_LEAF_NUMBER = re.compile(r"[1-9]\d?(?:\.0(?:e0)?)?")


def label_of(text: str) -> str:
    """A text as a label: what stands before a colon."""
    return " ".join(text.partition(":")[0].split())


def answer_in(text: str) -> str:
    """What stands behind the colon of a text."""
    return text.partition(":")[2].strip()


def by_path(found: list[_T], path_of: Callable[[_T], str]) -> dict[str, _T]:
    """What stands in a form by its path (folded); paths that would lead to two cells are left out."""
    times = Counter(folded(path_of(one)) for one in found)
    return {path: one for one in found if times[path := folded(path_of(one))] == 1}


@dataclass
class Labels:
    """The labels of a form, looked for once, and which of them stand over and beside a cell."""

    grid: Grid

    @cached_property
    def texts(self) -> dict[Place, str]:
        """Every label by its place, a bare number under "Leaf" as the label of its row: Leaf 2."""
        grid = self.grid
        places = ((row, column) for row, cells in enumerate(grid.rows) for column in range(len(cells)))
        return {place: _label_in(grid, *place) for place in places if _is_label(grid, *place)}

    @cached_property
    def places(self) -> dict[str, list[Place]]:
        """Where each label (folded) stands."""
        found: dict[str, list[Place]] = {}
        for place, label in self.texts.items():
            found.setdefault(folded(label), []).append(place)
        return found

    def left(self, row: int, column: int) -> int | None:
        """The column of the nearest label to the left in a row."""
        return next((at for at in range(column - 1, -1, -1) if (row, at) in self.texts), None)

    def over(self, row: int, column: int) -> int | None:
        """The row of the nearest label above in a column, beyond values but not beyond a blank row."""
        for at in range(row - 1, max(-1, row - _FURTHEST_UP), -1):
            if self.grid.is_blank(at):
                return None
            if (at, column) in self.texts:
                return at
        return None

    def title(self, row: int, column: int) -> str:
        """The nearest label above in the same column that has nothing beside it: Leaf 2, over those of its readings."""
        above = ((at, column) for at in range(row - 1, max(-1, row - _FURTHEST_UP), -1))
        return next((self.texts[at] for at in above if at in self.texts and self._is_title(*at)), "")

    def alone_over(self, row: int, column: int) -> str:
        """The nearest label above in the same column that stands alone in its row: Frame diagonals."""
        above = range(row - 1, max(-1, row - _FURTHEST_UP), -1)
        alone = (at for at in above if self.grid.filled(at) == [column])
        return next((self.texts[at, column] for at in alone if (at, column) in self.texts), "")

    def has_value(self, row: int, column: int) -> bool:
        """Whether something that is no label itself stands beside a label."""
        beside = value_after(self.grid, row, column)
        return bool(self.grid.text(row, beside)) and (row, beside) not in self.texts

    def _is_title(self, row: int, column: int) -> bool:
        """Whether a label without a value names what follows it; one among labels with values may be left blank."""
        if self.has_value(row, column):
            return False
        label = self.texts[row, column]
        return not self.grid.text(row - 1, column) or is_leaf(label) or member_named(label) is not None

    def corner(self, row: int, column: int) -> str:
        """The text that names a small table: the first of its header row, else a line of its own above it."""
        first = next((at for at in self.grid.filled(row) if at < column), None)
        labels = next((at for at in self.grid.filled(row + 1) if at < column), 0)
        if first is not None and first <= labels and not self._is_over_a_strip(row, first):
            return self._named(row, first)
        return self.title_over(row)

    def title_over(self, row: int) -> str:
        """The text alone in the row right above the headings of a small table, whatever stands in its corner."""
        above = self.grid.filled(row - 1)
        return self._named(row - 1, above[0]) if len(above) == 1 else ""

    def block_title(self, row: int) -> str:
        """The text alone in the first of the rows that no blank row cuts off from a row: over several small tables."""
        top, _ = stretch_around(self.grid.texts, row, any)
        first = self.grid.filled(top)
        return self._named(top, first[0]) if len(first) == 1 and first[0] == 0 and top < row - 1 else ""

    def of_answers(self, row: int, column: int) -> str:
        """What a row of cells such as Left: 0 is of: the label before them, else the text alone in the row above."""
        before = [(row, at) for at in reversed(self.grid.filled(row)) if at < column]
        above = [(row - 1, at) for at in self.grid.filled(row - 1)]
        others = [*before, *(above if len(above) == 1 else [])]
        return next((self._named(*one) for one in others if not answer_in(self.grid.text(*one))), "")

    def is_under_places(self, row: int, column: int) -> bool:
        """Whether a cell is one of several of a row under headings that are places, 300 mm up, or over numbers."""
        head, values = self.over(row, column), self.grid.filled(row)[1:]
        if head is None or len(values) < _SEVERAL or any((row, at) in self.texts for at in values):
            return False
        heads = [self.texts.get((head, at), "") for at in values]
        are_places = all(is_place(text) or is_distance(text) for text in heads)
        return are_places or (all(heads) and self.are_numbers_after(row, values[0] - 1))

    def are_numbers_after(self, row: int, column: int) -> bool:
        """Whether several cells follow in a row that are all numbers; the label before them is that of none alone."""
        values = [at for at in self.grid.filled(row) if at > column]
        return len(values) >= _SEVERAL and look_at([self.grid.rows[row][at] for at in values]).numbers == 1.0

    def _named(self, row: int, column: int) -> str:
        """The text of a label as it stands there; empty where there is none."""
        return label_of(self.grid.text(row, column)) if (row, column) in self.texts else ""

    def _is_over_a_strip(self, row: int, column: int) -> bool:
        """Whether a heading stands over its own value in a single row of values, and so is no corner."""
        grid = self.grid
        is_single = row + 2 >= len(grid.rows) or grid.is_blank(row + 2)
        return is_single and bool(grid.text(row + 1, column)) and (row + 1, column) not in self.texts


def _is_label(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell names what stands beside or under it."""
    cell = grid.rows[row][column]
    text = shown(cell)
    if is_unit(grid, row, column):
        return False
    if _is_leaf_number(grid, row, column) or is_number_over_cells(grid, row, column):
        return True
    if is_height_of_a_row(grid, row, column):
        return True
    if is_tick(text) and _heads_outcomes(grid, row, column):
        return True
    if not text or len(text) > LONGEST_LABEL or isinstance(cell, date | datetime | int | float):
        return False
    if is_tick(text) and not _stands_before_a_day(grid, row, column):
        return False
    if _is_measured(text) or _answers_a_colon(grid, row, column):
        return False
    return any(char.isalpha() for char in text) and not re.fullmatch(r"[\d.,/ -]+\s*(?!up$)\w{0,2}", text)


def _is_measured(text: str) -> bool:
    """Whether a text is a number with the way it points, or two sides of an opening: 2 out, 3580 x 2110."""
    if not text[0].isdigit() or is_distance(text):
        # 300 mm up is a height at which something is read
        return False
    return without_way(text) != text or _SIDES.fullmatch(text) is not None


def _answers_a_colon(grid: Grid, row: int, column: int) -> bool:
    """Whether a text is what a label with a colon asks for, and no label: nothing follows it but another such label."""
    filled = grid.filled(row)
    at = filled.index(column)
    before = grid.text(row, filled[at - 1]) if at else ""
    behind = grid.text(row, filled[at + 1]) if at + 1 < len(filled) else ""
    is_asked = before.endswith(_COLON) and not grid.text(row, column).endswith(_COLON)
    return is_asked and (not behind or behind.endswith(_COLON))


def _stands_before_a_day(grid: Grid, row: int, column: int) -> bool:
    """Whether a day follows, so that a text is its label: Fitted, which may say of a cover that it is."""
    after = grid.column_after(row, column)
    cells = grid.rows[row]
    return after < len(cells) and look_at([cells[after]]).are_days


def _heads_outcomes(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell is one of the headings OK, Not OK, N/A, under which a mark says the outcome of a check."""
    texts = grid.texts[row]
    first, last = stretch_around(texts, column, outcome_of)
    if not {"pass", "fail"} <= {outcome_of(text) for text in texts[first : last + 1]}:
        return False
    # a yes beside a no, each under a check of its own, are answers
    return not all(_is_under_a_check(grid, row, at) for at in range(first, last + 1))


def _is_under_a_check(grid: Grid, row: int, column: int) -> bool:
    """Whether a heading over a cell, with no blank row between, names a check."""
    for above in range(row - 1, max(-1, row - _FURTHEST_UP), -1):
        if grid.is_blank(above):
            return False
        meaning = check_meaning(grid.text(above, column))
        if meaning is not None and meaning.sure >= SURE:
            return True
    return False


def _label_in(grid: Grid, row: int, column: int) -> str:
    """The label in a cell; a bare number under "Leaf", or a height, is the label of its row: Leaf 2, 300 mm up."""
    text = grid.text(row, column)
    if is_height_of_a_row(grid, row, column):
        return f"{float(text.partition('mm')[0].replace('e0', '')):g} mm up"
    is_leaf = _LEAF_NUMBER.fullmatch(text) and not is_number_over_cells(grid, row, column)
    return f"Leaf {int(float(text))}" if is_leaf else label_of(text)


def _is_leaf_number(grid: Grid, row: int, column: int) -> bool:
    """Whether a cell is the number of a leaf: a small number in a column headed so, only numbers between."""
    if not _LEAF_NUMBER.fullmatch(grid.text(row, column)):
        return False
    for above in range(row - 1, max(-1, row - _FURTHEST_UP), -1):
        text = grid.text(above, column)
        if not _LEAF_NUMBER.fullmatch(text):
            return bool(text) and words_of(label_of(text)) in OF_A_LEAF and not answer_in(text)
    return False
