"""Where the name of a group of columns ends that is written once, with blanks behind it and nothing merged.

It is carried to the right over every blank. Where no name stands over the columns behind the group it would go on over
those as well: Leaf 2 head gap over hinge, lock and then over Cill bedded and Cost. So what it measures or checks is
not carried over a heading that says by itself what stands under it, and over none whose cells cannot be that.
"""

from collections.abc import Iterator

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.evidence import Evidence, look_at
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.headings import JOINT, Carried, Heads, heads_at, without_number
from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.matching.words.meaning import SURE, check_meaning, likeness_under, reading_meaning
from pipeline.ingest.matching.words.places import is_distance, is_place
from pipeline.ingest.matching.words.vocabulary import ways, words_of

# As alike as this a heading is that of a column.
_IS_COLUMN = 0.8
# Of a group of numbers at least so many cells are numbers, of one that is no part of it at most so many.
_ARE_NUMBERS, _NO_NUMBERS = 0.5, 0.1
_ROWS_LOOKED_AT = 300


def with_ends(grid: Grid, heads: Heads) -> Heads:
    """The headings, without what is carried over columns that are none of its group."""
    ended: frozenset[Carried] = frozenset()
    for layer in sorted({layer for layer, _ in heads.carried}, reverse=True):
        # the lower rows first: what the headings under a name are is told by them
        if here := _Layer(grid, heads, layer).ended():
            ended |= here
            heads = heads_at(grid, heads.row, heads.n_rows, ended)
    return heads


class _Layer:
    """One row of names of groups. Columns are counted from 0."""

    def __init__(self, grid: Grid, heads: Heads, layer: int) -> None:
        self._grid = grid
        self._heads = heads
        self._layer = layer
        self._carried = {column for one, column in heads.carried if one == layer}
        without = frozenset((one, column) for one in range(layer + 1) for column in range(grid.width))
        below = heads_at(grid, heads.row, heads.n_rows, without).written
        self._below = [without_number(text) for text in below]
        alone = frozenset((layer, column) for column in range(grid.width))
        self._alone = [without_number(text) for text in heads_at(grid, heads.row, heads.n_rows, alone).written]
        self._joined = [without_number(text) for text in heads.written]

    def ended(self) -> frozenset[Carried]:
        """What of the row is not carried as far as it could be."""
        return frozenset((self._layer, column) for first, rest in self._groups() for column in self._over(first, rest))

    def _groups(self) -> Iterator[tuple[int, list[int]]]:
        """The column of every name that is carried, and those that it is carried over."""
        for first in range(self._grid.width):
            rest: list[int] = []
            while first not in self._carried and first + len(rest) + 1 in self._carried:
                rest.append(first + len(rest) + 1)
            if rest:
                yield first, rest

    def _over(self, first: int, rest: list[int]) -> list[int]:
        name = " ".join(self._grid.text(self._heads.row + self._layer, first).split())
        what, unit = _measured(name, is_whole=True)[1], split_unit(f"{name}{JOINT}x")[1]
        if not (what or unit) or not self._is_member(first):
            return []
        is_of_numbers = self._evidence(first).numbers >= _ARE_NUMBERS and not self._evidence(first).are_days
        repeated = self._repeated()
        end = len(rest)
        for at, column in enumerate(rest):
            if folded(self._below[column]) in repeated or _says_where(self._below[column]):
                continue
            if self._is_another(what, column) or (is_of_numbers and _are_no_numbers(self._evidence(column))):
                end = at
                break
        return [column for column in rest[:end] if what and self._says_nothing_with_it(column)] + rest[end:]

    def _is_member(self, column: int) -> bool:
        """Whether the heading under a name says no more than which of its group it is."""
        alone = _said(self._alone[column])
        return _says_where(self._below[column]) or not alone or alone == _said(self._joined[column], is_whole=True)

    def _is_another(self, what: str, column: int) -> bool:
        """Whether a heading says by itself what stands under it, and with the name of the group nothing more."""
        alone, joined = _said(self._alone[column]), _said(self._joined[column], is_whole=True)
        return bool(alone) and (not joined or (bool(what) and joined == alone != what))

    def _says_nothing_with_it(self, column: int) -> bool:
        """Whether no word of a heading is understood together with the name of its group."""
        words = set(words_of(self._below[column]))
        joined = self._joined[column]
        # over numbers nothing is seen
        is_read = self._evidence(column).numbers >= _ARE_NUMBERS
        meanings = [one for one in (reading_meaning(joined), None if is_read else check_meaning(joined)) if one]
        is_left = bool(meanings) and all(words <= set(one.place.left) for one in meanings)
        return bool(words) and is_left and not _says_where(self._below[column])

    def _repeated(self) -> set[str]:
        """Headings that stand under several names of the row: a part of every group."""
        under: dict[str, set[str]] = {}
        for first, rest in self._groups():
            for column in (first, *rest):
                under.setdefault(folded(self._below[column]), set()).add(
                    self._grid.text(self._heads.row + self._layer, first)
                )
        return {heading for heading, names in under.items() if len(names) > 1}

    def _evidence(self, column: int) -> Evidence:
        rows = self._grid.rows[self._heads.body : self._heads.body + _ROWS_LOOKED_AT]
        return look_at([row[column] if column < len(row) else "" for row in rows])


def _says_where(heading: str) -> bool:
    return is_place(heading) or is_distance(heading) or not any(map(str.isalpha, heading))


def _are_no_numbers(evidence: Evidence) -> bool:
    return bool(evidence.filled) and (evidence.are_days or evidence.numbers <= _NO_NUMBERS)


def _measured(heading: str, *, is_whole: bool) -> tuple[float, str]:
    """(how sure, which) of the reading or check that a heading names; empty where it surely names none.

    is_whole  only where every word of it is understood
    """
    found = [(0.0, "")]
    for meaning in (reading_meaning(heading), check_meaning(heading)):
        if meaning is not None and meaning.sure >= SURE and not (is_whole and meaning.place.left):
            found.append((meaning.sure, meaning.name))
    return max(found)


def _said(heading: str, *, is_whole: bool = False) -> str:
    """What a heading surely names, of readings, checks and columns; empty where it names nothing."""
    likeness = [
        (likeness_under(record, column, heading), f"{record} {column}")
        for record, columns in ways().items()
        for column in columns
    ]
    alike = [one for one in likeness if one[0] >= _IS_COLUMN]
    return max(_measured(heading, is_whole=is_whole), *alike, (0.0, ""))[1]
