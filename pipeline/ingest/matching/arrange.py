"""Finds how a sheet is arranged: one table, several, or one that is turned on its side."""

from collections.abc import Iterator
from dataclasses import replace

from openpyxl.utils import get_column_letter

from pipeline.catalogue import Catalogue
from pipeline.ingest.matching.columns.evidence import is_tick
from pipeline.ingest.matching.columns.known import Known
from pipeline.ingest.matching.columns.layout import Layout, find_layout, layout_at
from pipeline.ingest.matching.propose import propose
from pipeline.ingest.matching.sheet.blocks import MOST_BLOCKS, blocks_of
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.headings import without_number

PLAIN, PART, ACROSS = "plain", "part", "across"
# So many headings more must find a place in a way of arranging that is rarer.
_LEAD = 2
# A sheet that finds places for so many headings as it lies, and for this share of them, is not on its side.
_PLAINLY, _MOSTLY_PLACED = 6, 0.6
# Columns that say what each line of a sheet on its side is, at most.
_MOST_HEADINGS = 2
# Of headings in a sheet on its side, at least this share differs; small tables in it may repeat some.
_MOSTLY_DIFFERENT = 0.5
# A larger sheet is no sheet of small tables, and none on its side.
_MOST_ROWS, _MOST_ACROSS = 5_000, 400


def arrangements(grid: Grid, catalogue: Catalogue, known: Known) -> list[tuple[str, Layout]]:
    """The layouts of a sheet with how each is arranged; none where no row reads as headings."""
    layout = find_layout(grid) if grid.rows else None
    best = _n_placed(layout, catalogue, known)
    found = [(PLAIN, layout)] if layout is not None else []
    if len(grid.rows) <= _MOST_ROWS:
        parts = list(_tables(grid, catalogue, known))
        kinds = {(one.named, one.grid.left): n_placed for n_placed, one in parts}
        if len(kinds) > 1 and sum(kinds.values()) >= best + _LEAD:
            return [(PART, one) for _, one in parts]
    is_plain = layout is not None and best >= max(_PLAINLY, _MOSTLY_PLACED * len(layout.evidence))
    if max(len(grid.rows), grid.width) <= _MOST_ACROSS and not is_plain:
        turned = [(_n_placed(one, catalogue, known), one) for one in _on_its_side(grid)]
        n_placed, across = max(turned, key=lambda one: one[0], default=(0, None))
        if across is not None and n_placed >= best + _LEAD and not _is_a_list(across):
            return [(ACROSS, across)]
    return found


def _on_its_side(grid: Grid) -> list[Layout]:
    """The layouts of a sheet on its side; what each line is may stand in one column, and its kind in the next."""
    one = find_layout(grid.turned())
    if one is None:
        return []
    n_named = int(one.grid.top < grid.top)
    is_deeper = one.heads.n_rows < _MOST_HEADINGS + n_named and one.heads.body + 1 < len(one.grid.rows)
    if is_deeper and not _is_of_a_record(one.grid, one.heads.body):
        return [layout_at(one.grid, one.heads.row, one.heads.n_rows + 1), one]
    return [one]


def _is_of_a_record(grid: Grid, row: int) -> bool:
    """Whether a row holds what a record does: a number, a day or a tick."""
    texts = [text for text in grid.texts[row] if text]
    return any(is_tick(text) or any(map(str.isdecimal, text)) for text in texts)


def _is_a_list(across: Layout) -> bool:
    """Whether the headings of a turned sheet stand there again and again: a column of items, not a side of headings."""
    written = [without_number(text) for text in across.heads.written if text]
    return len(set(written)) < _MOSTLY_DIFFERENT * len(written)


def left_over(grid: Grid, parts: list[Layout]) -> list[tuple[str, str]]:
    """(cell, first text) of every block of a sheet of several tables that none of them is made of."""
    used = {(part.grid.top, part.grid.left) for part in parts}
    return [
        (f"{get_column_letter(left + 1)}{top + 1}", next(text for text in grid.texts[top][left : right + 1] if text))
        for top, left, _, right in blocks_of(grid)
        if (top + grid.top, left + grid.left) not in used
    ]


def _tables(grid: Grid, catalogue: Catalogue, known: Known) -> Iterator[tuple[int, Layout]]:
    """(headings placed, layout) of every block of a sheet that records can be made of."""
    blocks = blocks_of(grid)
    if not 1 < len(blocks) <= MOST_BLOCKS:
        return
    for block in blocks:
        layout = find_layout(grid.part(block))
        if layout is not None and (n_placed := _n_placed(layout, catalogue, known)):
            yield n_placed, layout


def _n_placed(layout: Layout | None, catalogue: Catalogue, known: Known) -> int:
    """How many headings of a layout find a place."""
    if layout is None:
        return 0
    proposal = propose(replace(layout, known=known), catalogue)
    return len(proposal.placed & set(layout.evidence)) if proposal.columns else 0
