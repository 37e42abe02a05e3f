"""The header of a sheet: one row of headings, or two and three rows whose merged cells stand over several columns."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

from pipeline.errors import nearest
from pipeline.ingest.declared.mapping import SheetMap, folded
from pipeline.ingest.files.headers import Unreadable
from pipeline.ingest.matching.sheet.grid import Grid

# A header further down than this is not looked for.
DEEPEST_HEADER = 60
JOINT = " / "
Carried = tuple[int, int]
# The number of a box of a form before what it asks for: 8 Panel 1 TH. Without the number no two ask for the same, so
# it counts no leaves.
_BOX, _FEWEST_BOXES = re.compile(r"(\d{1,3})[.)]?\s+(?=[^\W\d_])"), 5
# A sheet, or a form in one, that lacks more of a mapping's headings is taken to be another, not a changed one.
MOST_MISSING = 0.5
# Of the headings that are new in a sheet, so many are named.
_MOST_NEW = 5


@dataclass(frozen=True)
class Heads:
    """row: the first header row, from 0; n_rows: how many. written: the headings by column, empty where there is none.

    A heading that stands twice is told apart by a number: Hinge, Hinge [2].

    carried  (header row from 0, column) of texts that stand over a column only since nothing stands there itself
    """

    row: int
    n_rows: int
    written: tuple[str, ...]
    carried: frozenset[Carried] = field(default=frozenset(), compare=False)

    @cached_property
    def places(self) -> dict[str, int]:
        """Column of each heading, folded."""
        return {folded(text): column for column, text in enumerate(self.written) if text}

    @cached_property
    def said(self) -> dict[str, str]:
        """What each heading says, by folded heading: without the number of its box on paper, where all are numbered."""
        boxes = [(text, found) for text in self.written if (found := _BOX.match(text))]
        numbers = [int(found[1]) for _, found in boxes]
        rest = [text[found.end() :] for text, found in boxes]
        are_boxes = len(boxes) >= _FEWEST_BOXES and numbers == sorted(set(numbers)) and len(set(rest)) == len(rest)
        return {folded(text): said for (text, _), said in zip(boxes, rest, strict=True)} if are_boxes else {}

    @property
    def body(self) -> int:
        """The first row after the header, from 0."""
        return self.row + self.n_rows


def heads_at(grid: Grid, row: int, n_rows: int, ended: frozenset[Carried] = frozenset()) -> Heads:
    """The headings that rows of a grid make together, the upper ones before the lower.

    ended  what is not carried as far as it could be: (header row from 0, column), as in Heads.carried
    """
    layers, carried = _layers(grid, row, n_rows)
    return _heads(row, layers, carried, ended)


def _heads(row: int, layers: list[list[str]], carried: frozenset[Carried], ended: frozenset[Carried]) -> Heads:
    """The headings that the texts of header rows make together, each with its number."""
    seen: dict[str, int] = {}
    written = []
    for column in range(len(layers[0])):
        text = _joined(layers, column, ended)
        seen[folded(text)] = number = seen.get(folded(text), 0) + 1
        written.append(f"{text} [{number}]" if text and number > 1 else text)
    return Heads(row, len(layers), tuple(written), carried - ended)


def _layers(grid: Grid, row: int, n_rows: int) -> tuple[list[list[str]], frozenset[Carried]]:
    """The texts of header rows, by row and column, and which of them are carried."""
    spread = [_spread(grid, row + layer, is_last=layer == n_rows - 1) for layer in range(n_rows)]
    carried = frozenset((layer, column) for layer, (_, columns) in enumerate(spread) for column in columns)
    return [texts for texts, _ in spread], carried


def _joined(layers: list[list[str]], column: int, ended: frozenset[Carried]) -> str:
    """A column's heading without what ends before it."""
    parts = (texts[column] for layer, texts in enumerate(layers) if (layer, column) not in ended)
    return JOINT.join(dict.fromkeys(part for part in parts if part))


def _heads_as_known(grid: Grid, row: int, sheet_map: SheetMap) -> Heads:
    """The headings of rows, each with as much of what is carried over it as the mapping names it with."""
    layers, carried = _layers(grid, row, sheet_map.header_rows)
    known = {folded(without_number(heading)) for heading in sheet_map.known} if carried else set()
    ended: set[Carried] = set()
    for column in {column for _, column in carried}:
        mine = sorted(one for one in carried if one[1] == column)
        ways = (frozenset(some) for count in range(len(mine) + 1) for some in combinations(mine, count))
        ended |= next(
            (way for way in ways if folded(without_number(_joined(layers, column, way))) in known), frozenset()
        )
    return _heads(row, layers, carried, frozenset(ended))


def find_heads(grid: Grid, sheet_map: SheetMap) -> tuple[Heads, list[str]]:
    """The first rows that hold every heading of the mapping, else those that hold most, with the headings missing."""
    wanted = sheet_map.headings
    best, best_missing = Heads(0, sheet_map.header_rows, ()), list(wanted)
    for row in range(min(len(grid.rows) - sheet_map.header_rows + 1, DEEPEST_HEADER)):
        heads = _heads_as_known(grid, row, sheet_map)
        places = heads.places
        missing = [name for name in wanted if name not in places]
        if len(missing) < len(best_missing):
            best, best_missing = heads, missing
        if not missing:
            break
    return best, best_missing


def changed(grid: Grid, there: Iterable[str], missing: list[str], sheet_map: SheetMap) -> Unreadable:
    """The refusal of a sheet whose headings are no longer those of the mapping: the old one and the new one."""
    new = [text for text in there if text and folded(text) not in sheet_map.known]
    where = f"sheet {grid.name}: " if grid.name else ""
    near = nearest(missing[0], new, count=1)
    found = near[0] if near else new[0] if len(new) == len(missing) == 1 else None
    instead = f", and '{found}' stands there, which the mapping does not know" if found else ""
    if not found and new:
        # which of them it has become is for a person to say
        instead = f", and the mapping does not know {', '.join(map(repr, new[:_MOST_NEW]))}"
    more = f" ({len(missing) - 1} more missing)" if len(missing) > 1 else ""
    old = dict(sheet_map.spelt).get(missing[0], missing[0])
    return Unreadable(
        f"{where}the heading '{old}' is gone{instead}{more}; correct the sheet, or its [[sheet]] table in fitback.toml"
    )


def without_number(heading: str) -> str:
    """A heading without the number that tells it apart from its like."""
    return re.sub(r" \[\d+\]$", "", heading)


def _spread(grid: Grid, row: int, is_last: bool) -> tuple[list[str], list[int]]:
    """The texts of one header row by column, and the columns that one is carried over.

    In upper rows a text stands over all columns it was merged over; where nothing is merged, over those to its right.
    """
    texts = [" ".join(grid.text(row, column).split()) for column in range(grid.width)]
    merges = [area for area in grid.merges if area[0] <= row <= area[2] and area[3] > area[1]]
    for top, left, _, right in merges:
        # a part of a sheet may be narrower than what is merged in it
        if top == row and left < grid.width:
            texts[left : right + 1] = [texts[left]] * (min(right + 1, grid.width) - left)
    carried: list[int] = []
    if is_last or merges:
        return texts, carried
    for column in range(1, len(texts)):
        # a text with nothing under it is a heading of its own column only
        if not texts[column] and grid.text(row + 1, column) and grid.text(row + 1, column - 1):
            texts[column] = texts[column - 1]
            if texts[column]:
                carried.append(column)
    return texts, carried
