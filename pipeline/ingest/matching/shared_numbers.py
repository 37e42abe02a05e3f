"""Finds what numbers the doors of a list where no heading says it: the column whose numbers other sheets name as well.

Offices number doors by whatever they have at hand: a purchase order, a quotation, a docket. Whatever it is called, it
stands once for every door of the list and again where the door was measured or complained of. Common practice, no
source.
"""

from collections.abc import Iterable
from pathlib import Path

from pipeline.catalogue import Catalogue
from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.columns.layout import Layout, find_layout
from pipeline.ingest.matching.propose import propose
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.records import INSTALLS

# Of the numbers of another sheet's column so many must stand in the list, and no fewer than that.
_SHARED, _FEWEST = 0.5, 4
_MOST_BLANK, _SHORTEST = 0.1, 3


def doors_by_shared_numbers(sheets: Iterable[tuple[Path, list[Grid]]], catalogue: Catalogue) -> set[str]:
    """The numbers (in small letters) of the doors of lists that want nothing but these; empty where none is certain."""
    layouts = [one for _, grids in sheets for grid in grids if (one := find_layout(grid)) is not None]
    found: set[str] = set()
    for layout in layouts:
        others = [one for one in layouts if one is not layout and one.named != layout.named]
        columns = [numbers for numbers in _unplaced(layout, catalogue) if any(_names(one, numbers) for one in others)]
        found |= columns[0] if len(columns) == 1 else set()
    return found


def _unplaced(layout: Layout, catalogue: Catalogue) -> list[frozenset[str]]:
    """The columns of a list that wants only the numbers of its doors which hold another number in every row."""
    proposal = propose(layout, catalogue)
    if proposal.columns or proposal.draft is None or proposal.wanting != (INSTALLS.key[0],):
        return []
    free = (one for heading, one in layout.evidence.items() if heading not in proposal.draft.placed)
    return [
        one.texts
        for one in free
        if one.distinct == one.filled >= _FEWEST and one.blank <= _MOST_BLANK and not one.are_days
        if all(len(text) >= _SHORTEST and any(map(str.isdigit, text)) for text in one.texts)
    ]


def _names(layout: Layout, numbers: frozenset[str]) -> bool:
    """Whether a column of another sheet names doors by such numbers."""
    columns = [frozenset(map(typed_number, one.texts)) for one in layout.evidence.values()]
    return any(len(one & numbers) >= max(_FEWEST, _SHARED * len(one)) for one in columns)
