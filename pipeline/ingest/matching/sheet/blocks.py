"""Cuts a sheet that holds several tables, one below the other or side by side, into its tables."""

from collections.abc import Callable, Iterator

from pipeline.ingest.matching.sheet.grid import Area, Grid

# A sheet in more pieces than this is no sheet of a few tables.
MOST_BLOCKS = 300


def blocks_of(grid: Grid) -> list[Area]:
    """The rectangles that blank rows and blank columns cut a sheet into, from top to bottom and left to right."""
    whole = (0, 0, len(grid.rows) - 1, grid.width - 1)
    return list(_cut(grid, whole, are_rows=True)) if grid.rows and grid.width else []


def table_under(grid: Grid, block: Area, others: list[Area]) -> Grid:
    """The table whose header stands in a block: down to the next block with a header below it, or the sheet's end."""
    top, left, _, right = block
    below = [area[0] for area in others if area[0] > top and area[1] <= right and area[3] >= left]
    return grid.part((top, left, min(below, default=len(grid.rows)) - 1, right))


def _cut(grid: Grid, area: Area, are_rows: bool, was_whole: bool = False) -> Iterator[Area]:
    """The pieces of an area, cut by blank rows and by blank columns in turn until neither cuts any more."""
    pieces = [_within(area, run, are_rows) for run in _runs(grid, area, are_rows)]
    for piece in pieces:
        is_whole = len(pieces) == 1
        if is_whole and was_whole:
            yield piece
        else:
            yield from _cut(grid, piece, not are_rows, is_whole)


def _within(area: Area, run: tuple[int, int], are_rows: bool) -> Area:
    top, left, bottom, right = area
    return (run[0], left, run[1], right) if are_rows else (top, run[0], bottom, run[1])


def _runs(grid: Grid, area: Area, are_rows: bool) -> Iterator[tuple[int, int]]:
    """First and last of the rows (or columns) that follow one another without a blank one."""
    top, left, bottom, right = area
    texts = grid.texts

    def has_text(at: int) -> bool:
        if are_rows:
            return any(texts[at][left : right + 1])
        return any(at < len(texts[row]) and texts[row][at] for row in range(top, bottom + 1))

    yield from _stretches(range(top, bottom + 1) if are_rows else range(left, right + 1), has_text)


def _stretches(places: range, is_filled: Callable[[int], bool]) -> Iterator[tuple[int, int]]:
    first = None
    for at in places:
        if is_filled(at):
            first = at if first is None else first
        elif first is not None:
            yield first, at - 1
            first = None
    if first is not None:
        yield first, places[-1]
