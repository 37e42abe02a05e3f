"""The table at the foot of a form: the door's service history, a row a call, below the labels of the card.

It is read by a [[sheet]] table of its own (`at_foot = true`), and the form above it as if it ended there. How such
cards look is common practice, no source.
"""

from dataclasses import dataclass

from pipeline.ingest.declared.mapping import SheetMap, folded
from pipeline.ingest.matching.forms.form import FormCells
from pipeline.ingest.matching.sheet.body import TableCells
from pipeline.ingest.matching.sheet.found import Found
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.headings import MOST_MISSING, Heads, changed, heads_at

# Fewer headings than this may be found in a row of labels by chance.
_FEWEST = 3


@dataclass
class FootCells(TableCells):
    """The rows at the foot of a form, of whose labels they take what holds for all of them, such as the door."""

    form: FormCells | None = None

    def above(self, label: str, is_day: bool = False) -> str:
        """The value of a label of the form."""
        return self.form.texts(folded(label), is_day)[0] if self.form is not None else ""


@dataclass(frozen=True)
class Footed:
    """A form without the table at its foot, and that: where its headings are and what reads it; None without one."""

    whole: Grid
    form: Grid
    heads: Heads | None = None
    sheet_map: SheetMap | None = None

    def found(self, form: FormCells) -> list[Found]:
        """The table at the foot, if there is one. form: the cells of the form over it."""
        if self.heads is None or self.sheet_map is None:
            return []
        cells = FootCells(self.whole, self.heads, self.sheet_map, form=form)
        return [Found(self.whole, self.sheet_map, cells, ())]


def form_above(grid: Grid, row: int) -> Grid:
    """A form without the rows from that of the headings at its foot on."""
    return grid.part((0, 0, row - 1, grid.width - 1))


def footed(grid: Grid, feet: tuple[SheetMap, ...]) -> Footed:
    """A form and the table at its foot.

    Raises Unreadable where most headings of a table are there and one is gone.
    """
    best: tuple[tuple[bool, int], Heads, list[str], SheetMap] | None = None
    for one in feet:
        for row in range(1, len(grid.rows) - one.header_rows + 1):
            heads = heads_at(grid, row, one.header_rows)
            missing = [name for name in one.headings if name not in heads.places]
            merit = not missing, len(one.headings) - len(missing)
            if best is None or merit > best[0]:
                best = merit, heads, missing, one
    if best is None:
        return Footed(grid, grid)
    (_, n_there), heads, missing, sheet_map = best
    if missing and (n_there < _FEWEST or len(missing) > MOST_MISSING * len(sheet_map.headings)):
        return Footed(grid, grid)
    if missing:
        raise changed(grid, heads.written, missing, sheet_map)
    return Footed(grid, form_above(grid, heads.row), heads, sheet_map)
