"""How a drawing of rows is laid out: a name, what stands behind it, a line on the value axis.

At a desk the name stands to the left of its line, on a phone above it. Words are drawn last: like in a working drawing,
a line breaks where words stand.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import altair as alt

from pipeline.report.drawn import NARROW, WIDE
from pipeline.report.lettering import fitted, width
from pipeline.report.marks import Board, Dimension, Layers, note, row, words_at
from pipeline.report.numbers import Interval, number
from pipeline.report.pencils import INK

FARTHEST_RATIO = 16.0


@dataclass(frozen=True)
class Label:
    """A row's name, cut to the room there is; what follows it uncut; a second line behind it; its pencil."""

    name: str
    after: str = ""
    behind: str = ""
    pencil: str = INK

    def within(self, pixels: float) -> str:
        """Name and what follows it, in no more room than given."""
        return fitted(self.name, pixels - width(self.after)) + self.after


@dataclass(frozen=True)
class RowLayout:
    """Where rows stand.

    label_width  pixels from the left edge to the value axis, at a desk
    margin       pixels kept right of the value axis
    top          pixels kept for the name of a datum
    spacing      pixels from row to row at a desk, for rows of one line
    narrow       the same on a phone
    is_dense     bars with their number at the end: rows stand closer than lines with their number above
    """

    labels: tuple[Label, ...]
    is_narrow: bool
    label_width: int = 320
    margin: int = 20
    top: int = 30
    is_dense: bool = False
    spacing: int = 30
    narrow: int = 46

    @property
    def step(self) -> int:
        """Pixels from row to row."""
        if self._has_behind:
            return 62 if self.is_narrow else 44
        wide, narrow = (21, 36) if self.is_dense else (self.spacing, self.narrow)
        return narrow if self.is_narrow else wide

    @property
    def lines(self) -> list[float]:
        """Pixels from the top to each row's line; its number stands just above."""
        first = self.step - 8 if self.is_narrow else 0.5 * self.step + (0 if self.is_dense else 2)
        return [self.top + first + index * self.step for index in range(len(self.labels))]

    @property
    def _has_behind(self) -> bool:
        return any(label.behind for label in self.labels)

    def board(self, low: float, high: float, title: str, **axis: Any) -> Board:
        """The board with a value axis from `low` to `high`."""
        left = 8 if self.is_narrow else self.label_width
        across = NARROW if self.is_narrow else WIDE
        height = self.top + len(self.labels) * self.step + 6
        spans = tuple((y - 15, y + 9) for y in self.lines) if self.is_narrow else ()
        return Board(across, height, left, across - self.margin, low, high, title, datum_spans=spans, **axis)

    def words(self, board: Board) -> Layers:
        """The names of the rows."""
        x, align = (0, "left") if self.is_narrow else (self.label_width - 16, "right")
        room = board.width if self.is_narrow else x
        lift = self._lift()
        pairs = list(zip(self.labels, self.lines, strict=True))
        names = [row(y - lift, label.within(room), label.pencil) for label, y in pairs]
        behind = [note(y - lift + 15, fitted(label.behind, room)) for label, y in pairs if label.behind]
        # the name last: the halo of the line below it would take the feet of its letters
        return [*words_at(board, behind, x, align), *words_at(board, names, x, align)]

    def _lift(self) -> float:
        if not self.is_narrow:
            return 7 if self._has_behind else 0
        return 18 if self.is_dense else self.step - 20


def interval_line(
    interval: Interval, y: float, digits: int, pencil: str = INK, shape: str = "circle", is_filled: bool = True
) -> Dimension:
    """An interval as a line with its number, to `digits` decimals, in the row `y`."""
    shown = number(interval.estimate, digits)
    return Dimension(interval.low, interval.high, interval.estimate, y, shown, pencil, shape, is_filled)


def linear_reach(intervals: Sequence[Interval], datum: float = 0.0) -> tuple[float, float]:
    """Ends of a value axis that holds the datum; one very wide interval must not squeeze the others flat."""
    if not intervals:
        return datum, datum + 1.0
    largest = max(abs(interval.estimate - datum) for interval in intervals) or 1.0
    high = min(max(datum, *(interval.high for interval in intervals)), datum + 3 * largest)
    low = max(min(datum, *(interval.low for interval in intervals)), datum - 3 * largest)
    span = (high - low) or 1.0
    return low - 0.02 * span, high + 0.05 * span


def log_reach(intervals: Sequence[Interval]) -> tuple[float, float]:
    """Ends of an axis of ratios, from a half to two at least, to sixteen at most."""
    low = max(min([0.5, *(interval.low for interval in intervals)]), 1 / FARTHEST_RATIO)
    high = min(max([2.0, *(interval.high for interval in intervals)]), FARTHEST_RATIO)
    return low / 1.06, high * 1.06


def doublings(low: float, high: float) -> tuple[float, ...]:
    """The powers of two on an axis."""
    return tuple(2.0**power for power in range(math.ceil(math.log2(low)), math.floor(math.log2(high)) + 1))


def nothing_to_draw(words: str, is_narrow: bool) -> alt.LayerChart:
    """An empty drawing that says why it is empty: where there are no data nothing is drawn."""
    across = NARROW if is_narrow else WIDE
    board = Board(across, 40, 0, across, 0, 1, "")
    return board.chart(words_at(board, [note(20, words)], 0))
