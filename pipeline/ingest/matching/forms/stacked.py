"""Forms below one another in one sheet, or side by side: each goes from the label that all begin with to the next.

Rows right above that label which stand over it in every form, a title, belong to it. How such sheets look is common
practice, no source.
"""

import re
from collections import Counter
from dataclasses import replace

from openpyxl.utils import get_column_letter

from pipeline.ingest.declared.mapping import SheetMap, folded
from pipeline.ingest.matching.columns.evidence import is_tick
from pipeline.ingest.matching.forms.foot import footed
from pipeline.ingest.matching.forms.form import FormCells
from pipeline.ingest.matching.forms.form_or_list import is_form_sized, is_list
from pipeline.ingest.matching.forms.labels import label_of
from pipeline.ingest.matching.sheet.found import Found
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.headings import MOST_MISSING, changed
from pipeline.ingest.matching.words.meaning import column_likeness
from pipeline.ingest.records import INSTALLS, NUMBERS_OF

# A label that names a door so surely begins forms where it stands at least so often; a longer sheet is a list.
_IS_KEY, _FEWEST, _MOST, _MOST_ROWS, _LONGEST = 0.9, 2, 1000, 20_000, 60
_MAY_BE_KEY = 0.35


def label_of_each(grid: Grid) -> str:
    """The label (folded) that names the door of each of the forms of a sheet; empty where there are no such forms."""
    if len(grid.rows) > _MOST_ROWS:
        return ""
    texts = Counter(text.partition(":")[0] for row in grid.texts for text in row if text)
    several = [text for text, n in texts.items() if _FEWEST <= n <= _MOST and len(text) <= _LONGEST]
    keys = [(_as_key(text), folded(text)) for text in several if any(map(str.isalpha, text)) and not is_tick(text)]
    sure = [label for likely, label in keys if likely >= _IS_KEY]
    # Form no., Docket no.: the door's number where nothing else is
    others = [label for likely, label in keys if _MAY_BE_KEY <= likely < _IS_KEY]
    found = (label for label in sure if _are_forms(parts_of(grid, label), label))
    return next(found, "") or next((label for label in others if _are_forms(parts_of(grid, label), label, True)), "")


def _as_key(text: str) -> float:
    """How likely a label names the door of a form."""
    return max(column_likeness(INSTALLS.name, name, label_of(text)) for name in NUMBERS_OF)


def _are_forms(parts: list[Grid], label: str, are_numbers: bool = False) -> bool:
    """Whether parts of a sheet are forms of as many doors; those that are yet to be filled in say none.

    are_numbers  what names the doors must have digits, and all forms must say it
    """
    if len(parts) < _FEWEST or not all(is_form_sized(one) and not is_list(one) for one in parts):
        return False
    texts = [text for one in parts for text in FormCells(one).texts(label)]
    if are_numbers and not all(any(map(str.isdecimal, text)) for text in texts):
        return False
    doors = list(filter(None, texts))
    return len(set(doors)) == len(doors) >= _FEWEST


def parts_of(grid: Grid, label: str) -> list[Grid]:
    """The forms of a sheet, each as a grid that knows where it stands. label: folded.

    Those side by side begin at the columns in which the label stands, one below the other in each.
    """
    places = [(row, at) for row, texts in enumerate(grid.texts) for at, text in enumerate(texts) if _says(text, label)]
    rows, columns = sorted({row for row, _ in places}), sorted({at for _, at in places})
    n_over = _rows_over(grid, rows)
    starts, lefts = [row - n_over for row in rows], [0, *columns[1:]]
    bottoms = [*(start - 1 for start in starts[1:]), len(grid.rows) - 1]
    rights = [*(left - 1 for left in lefts[1:]), grid.width - 1]
    return [
        grid.part((starts[down], lefts[along], bottoms[down], rights[along]))
        for down, along in ((rows.index(row), columns.index(at)) for row, at in places)
    ]


def _says(text: str, label: str) -> bool:
    return bool(text) and folded(label_of(text)) == label


def _rows_over(grid: Grid, rows: list[int]) -> int:
    """How many rows right above each of some rows say the same, but for their numbers."""
    n_over = 0
    while rows and rows[0] > n_over:
        above = {_shape(grid, row - n_over - 1) for row in rows}
        if len(above) > 1 or not above.pop():
            break
        n_over += 1
    return n_over


def _shape(grid: Grid, row: int) -> str:
    first = next(filter(None, grid.texts[row]), "")
    return re.sub(r"\d+", "0", folded(label_of(first)))


def read_forms(grid: Grid, sheet_map: SheetMap, optional: set[str], feet: tuple[SheetMap, ...]) -> list[Found]:
    """What reads each of the forms of a sheet, and the table at its foot; none where it holds no such forms.

    optional  headings that any form may lack; feet: what reads tables at the foot of forms
    Raises Unreadable where a label is gone from all of them. A form that lacks one has nothing there, and is told.
    """
    parts = [footed(part, feet) for part in parts_of(grid, sheet_map.begins_with)]
    cells = [FormCells(one.form) for one in parts]
    wanted = [name for name in sheet_map.headings if name not in optional]
    missing = [[name for name in wanted if one.at(name) is None] for one in cells]
    most = MOST_MISSING * len(wanted)
    are_like = [len(names) <= most for names in missing]
    if not any(are_like):
        return []
    like = [(one, part) for one, part, is_like in zip(cells, parts, are_like, strict=True) if is_like]
    found = [each for one, part in like for each in (Found(one.grid, sheet_map, one, ()), *part.found(one))]
    lacking = [names for names, is_like in zip(missing, are_like, strict=True) if is_like]
    if gone := [name for name in lacking[0] if all(name in names for names in lacking)]:
        raise changed(grid, cells[0].labels, gone, sheet_map)
    return [replace(found[0], notes=tuple(_notes(cells, missing, most))), *found[1:]]


def beginning(grid: Grid) -> str:
    """Where a form begins that stands beside another, which is in the same rows; empty for the first of them."""
    return f"from column {get_column_letter(grid.left + 1)} on" if grid.left else ""


def _notes(cells: list[FormCells], missing: list[list[str]], most: float) -> list[str]:
    """What is told of forms that lack labels."""
    notes = []
    for one, names in zip(cells, missing, strict=True):
        rows = f"the form in rows {one.grid.top + 1} to {one.grid.top + len(one.grid.rows)}"
        rows = " ".join(filter(None, [rows, beginning(one.grid)]))
        if len(names) > most:
            notes.append(f"{rows} not read: it has other labels")
        elif names:
            notes.append(f"{rows} has no {', '.join(map(repr, names))}")
    return notes
