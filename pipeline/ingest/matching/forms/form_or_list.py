"""Whether a sheet can be a form, one door a sheet, or is a list of doors."""

from pipeline.ingest.matching.columns.layout import said
from pipeline.ingest.matching.forms.labels import label_of
from pipeline.ingest.matching.sheet.grid import Cell, Grid, shown
from pipeline.ingest.matching.words.heading_units import unit_named
from pipeline.ingest.matching.words.meaning import column_likeness
from pipeline.ingest.records import INSTALLS

# A form is a page, not a list.
MOST_ROWS, MOST_COLUMNS = 200, 60
# What names a door stands this sure and this high up where a sheet is a list; so many names are enough to see it.
_IS_KEY, _DEEPEST_NAME, _ENOUGH_NAMES, _IS_LABEL = 0.9, 20, 3, 0.35
# Under so many headings a text alone in its row is a line over the rows that follow: the gang of these doors.
_WIDE = 4


def is_form_sized(grid: Grid) -> bool:
    """Whether a sheet is small enough for a form."""
    return 1 < len(grid.rows) <= MOST_ROWS and 1 < grid.width <= MOST_COLUMNS


def is_list(grid: Grid) -> bool:
    """Whether a sheet is a list of doors: under or beside what names a door stand several names, no labels."""
    return any(
        len(names) > 1 and len({shown(name) for name in names}) > 1
        for row in range(min(len(grid.rows), _DEEPEST_NAME))
        for column in range(len(grid.rows[row]))
        if _names_doors(label_of(grid.text(row, column)))
        for names in (_names(grid, _line_under(grid, row), column, (1, 0)), _names(grid, row, column, (0, 1)))
    )


def _line_under(grid: Grid, row: int) -> int:
    """The last of the lines, and blank rows, right under a row of headings; the row itself where there is none."""
    if len(grid.filled(row)) < _WIDE:
        return row
    n_filled = [len(grid.filled(below)) for below in range(row + 1, len(grid.rows))]
    n_over = next((at for at, n in enumerate(n_filled) if n > 1), 0)
    return row + n_over if 1 in n_filled[:n_over] else row


def _names_doors(label: str) -> bool:
    """Whether a label is that of a door's number or, which may stand for it, of its job's."""
    return any(column_likeness(INSTALLS.name, name, label) >= _IS_KEY for name in (INSTALLS.key[0], "job_no"))


def _names(grid: Grid, row: int, column: int, step: tuple[int, int]) -> list[Cell]:
    """The cells that follow a label downwards or to the right, up to the first that is empty, a label or a unit."""
    found: list[Cell] = []
    down, right = step
    while len(found) < _ENOUGH_NAMES:
        row, column = row + down, column + right
        text = grid.text(row, column)
        if not text or ":" in text or unit_named(text) or said(text) >= _IS_LABEL:
            break
        found.append(grid.rows[row][column])
    return found
