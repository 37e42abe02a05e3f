"""What the mapping of one file leaves unread of another of its like: next year's workbook with a column more."""

from dataclasses import dataclass

from pipeline.errors import few_of
from pipeline.ingest.declared.mapping import SheetMap
from pipeline.ingest.files.headers import Unreadable
from pipeline.ingest.files.unread import NEW
from pipeline.ingest.matching.mapped.own_sheets import find_maps
from pipeline.ingest.matching.mapped.unread_headings import unread_of
from pipeline.ingest.matching.sheet.found import Found
from pipeline.ingest.matching.sheet.grid import Grid

_MOST_NAMED = 6

SheetMaps = tuple[SheetMap, ...]


@dataclass(frozen=True)
class Left:
    """headings: filled columns that the mapping does not speak of; sheets: filled ones that it does not read."""

    headings: tuple[str, ...] = ()
    sheets: tuple[str, ...] = ()

    @property
    def is_nothing(self) -> bool:
        """Whether all of the file is read, or was knowingly left."""
        return not self.headings and not self.sheets

    @property
    def told(self) -> str:
        """The part of a sentence that says what is not read; empty where nothing is left."""
        parts = [f"sheet {few_of(self.sheets, _MOST_NAMED)}"] if self.sheets else []
        quoted = [f"'{one}'" for one in self.headings]
        parts += [f"columns {few_of(quoted, _MOST_NAMED)}"] if quoted else []
        return f", but for {' and '.join(parts)}: nothing is read from there" if parts else ""


def left_by(grids: list[Grid], sheet_maps: SheetMaps, passed_over: frozenset[str] = frozenset()) -> Left | None:
    """What a mapping leaves of the sheets of a file; None where it reads none of them.

    passed_over  names of sheets that the file of the mapping has as well, and that no record is made of
    """
    try:
        found = [(grid, find_maps(grid, sheet_maps)) for grid in grids]
    except Unreadable:
        return None
    if not any(maps for _, maps in found):
        return None
    headings = [one.heading for _, maps in found for each in maps for one in unread_of(each) if one.state == NEW]
    sheets = [str(grid.name) for grid, maps in found if not maps and grid.name and grid.first_filled is not None]
    return Left(tuple(dict.fromkeys(headings)), tuple(name for name in sheets if name not in passed_over))


def reads_more(grids: list[Grid], own: SheetMaps, before: SheetMaps) -> bool:
    """Whether a file is read by tables of its own beside those of another, and more of it than by the others alone."""
    try:
        with_own = [each for grid in grids for each in find_maps(grid, (*before, *own))]
    except Unreadable:
        return False
    return _n_read(with_own) > _n_read([each for grid in grids for each in find_maps(grid, before)])


def _n_read(found: list[Found]) -> int:
    return sum(len(each.sheet_map.headings) for each in found)
