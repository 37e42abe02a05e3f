"""How a drawing of rows is laid out: a name, what stands behind it, a line on the value axis.

At a desk the name stands to the left of its line, on a phone above it. Words are drawn last: like in a working drawing,
a line breaks where words stand.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise
from typing import Any

import altair as alt

from pipeline.report.drawing.drawn import DESK, NARROW
from pipeline.report.drawing.lettering import fitted, width, wrapped
from pipeline.report.drawing.marks import Board, Dimension, Layers, note, words_at
from pipeline.report.drawing.pencils import INK
from pipeline.report.numbers import Interval, number

FARTHEST_RATIO = 16.0
LEAST_LEFT = 96  # pixels left of the value axis, so that words about its beginning have room
LINE = 15  # pixels from one line of words to the next
BESIDE = 16  # pixels from a name to the value axis


@dataclass(frozen=True)
class Label:
    """A row's name; what follows it uncut; a line behind it; its pencil. Long ones take a second line."""

    name: str
    after: str = ""
    behind: str = ""
    pencil: str = INK

    def lines(self, pixels: float) -> list[dict[str, Any]]:
        """The lines of words, none wider than given: the name's in its pencil, those behind it in grey."""
        told = self.name + self.after
        names = wrapped(told, pixels)
        if not told.endswith(names[-1]):  # too long for two lines: what follows the name has to be seen
            room, (first, *rest) = pixels - width(self.after), wrapped(self.name, pixels, None)
            names = [first, fitted(" ".join(rest), room) + self.after] if rest else [fitted(first, room) + self.after]
        behind = wrapped(self.behind, pixels) if self.behind else []
        return [*({"words": line, "pencil": self.pencil} for line in names), *(note(0, line) for line in behind)]


@dataclass(frozen=True)
class RowLayout:
    """Where rows stand.

    label_width  most pixels from the left edge to the value axis, at a desk; fewer where the names are short
    margin       pixels kept right of the value axis
    top          pixels kept for the name of a datum
    spacing      pixels from row to row at a desk, for rows of one line
    narrow       the same on a phone
    is_dense     bars with their number at the end: rows stand closer than lines with their number above
    """

    labels: tuple[Label, ...]
    is_narrow: bool
    label_width: int = 300
    margin: int = 20
    top: int = 30
    is_dense: bool = False
    spacing: int = 27
    narrow: int = 46

    @property
    def lines(self) -> list[float]:
        """Pixels from the top to each row's line; its number stands just above."""
        feet = list(accumulate(self._heights, initial=float(self.top)))
        if self.is_narrow:
            return [foot - 8 for foot in feet[1:]]
        return [(head + foot) / 2 + (0 if self.is_dense else 2) for head, foot in pairwise(feet)]

    @cached_property
    def _texts(self) -> list[list[dict[str, Any]]]:
        """The lines of words of each row."""
        return [label.lines(NARROW if self.is_narrow else self.label_width - BESIDE) for label in self.labels]

    @cached_property
    def _left(self) -> int:
        """Pixels from the left edge to the value axis: what the names leave free is the lines'."""
        if self.is_narrow:
            return 8
        widest = max((width(text["words"]) for texts in self._texts for text in texts), default=0.0)
        return min(self.label_width, max(math.ceil(widest) + BESIDE, LEAST_LEFT))

    @property
    def _heights(self) -> list[float]:
        """Pixels that each row takes: more where its words take more lines than is usual."""
        if self.is_narrow:
            return [(36 if self.is_dense else self.narrow) + 16 * (len(texts) - 1) for texts in self._texts]
        one, two = 19 if self.is_dense else self.spacing, 36
        usual = (two, 2) if any(label.behind for label in self.labels) else (one, 1)
        return [usual[0] + LINE * max(len(texts) - usual[1], 0) for texts in self._texts]

    def board(self, low: float, high: float, title: str, **axis: Any) -> Board:
        """The board with a value axis from `low` to `high`."""
        across = NARROW if self.is_narrow else DESK
        height = int(self.top + sum(self._heights) + 6)
        spans = tuple((y - 15, y + 9) for y in self.lines) if self.is_narrow else ()
        return Board(across, height, self._left, across - self.margin, low, high, title, datum_spans=spans, **axis)

    def words(self, board: Board) -> Layers:
        """The names of the rows."""
        x, align = (0, "left") if self.is_narrow else (self._left - BESIDE, "right")
        placed = [
            text | {"y": first + LINE * at}
            for first, texts in zip(self._first_lines, self._texts, strict=True)
            # the last of a row before the first: the halo of the line below would take the feet of its letters
            for at, text in reversed(list(enumerate(texts)))
        ]
        return words_at(board, placed, x, align)

    @property
    def _first_lines(self) -> list[float]:
        """Pixels from the top to the first line of words of each row."""
        rows = zip(self.lines, self._heights, self._texts, strict=True)
        if self.is_narrow:
            return [y - height + (18 if self.is_dense else 20) for y, height, _ in rows]
        return [y - LINE * (len(texts) - 1) // 2 for y, _, texts in rows]


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
    across = NARROW if is_narrow else DESK
    lines = wrapped(words, across, None)
    board = Board(across, 40 + LINE * (len(lines) - 1), 0, across, 0, 1, "")
    return board.chart(words_at(board, [note(20 + LINE * at, line) for at, line in enumerate(lines)], 0))
