"""Drawings of the weak-steps sheet: crews by steps at a glance, and one step crew by crew."""

from typing import Any

import altair as alt

from pipeline.report.charts.cells import cell_lines, crew_names, datum_lines, foremost
from pipeline.report.charts.layout import Label, RowLayout, interval_line, nothing_to_draw
from pipeline.report.drawing.drawn import DESK, NARROW
from pipeline.report.drawing.marks import Board, Dimension, Layers, chain_line, dimension_lines, note, row, words_at
from pipeline.report.drawing.pencils import GREY, INK
from pipeline.report.numbers import Interval, counted, natural, one_precision, percent
from pipeline.report.rows.table_rows import WeakStep

MOST_CREWS = 16
BELOW = 8  # pixels from the line of a crew's own doors down to that of what to expect of its next


def shown_crews(crews: list[WeakStep]) -> list[WeakStep]:
    """The crews to draw: all, or where they are many those that stand apart and those with most doors; by name."""
    first = sorted(crews, key=lambda weak: (weak.side == 0, -weak.doors))[:MOST_CREWS]
    return sorted(first, key=lambda weak: natural(weak.crew))


def step_chart(crews: list[WeakStep], is_narrow: bool) -> alt.LayerChart:
    """One step: each crew's share of doors with something out, against the firm's."""
    drawn = [(weak, weak.share) for weak in shown_crews(crews) if weak.share]
    if not drawn:
        return nothing_to_draw("Nothing recorded in this step.", is_narrow)
    layout = RowLayout(tuple(_label(weak) for weak, _ in drawn), is_narrow, label_width=190)
    high = min(100.0, max(10.0, *(105 * interval.high for _, interval in drawn)))
    board = layout.board(0, high, "% of doors with something out")
    pairs = list(zip(drawn, layout.lines, strict=True))
    firm = crews[0].firm_out_share or 0.0
    is_alone = len(crews) == 1  # the firm's share is its own, and no other crew's says what to expect
    expected = [_expected(weak, weak.shrunk, y + BELOW) for (weak, _), y in pairs if weak.shrunk and not is_alone]
    return board.chart(
        [
            *([] if is_alone else chain_line(board, 100 * firm, f"firm {percent(firm)}")),
            *dimension_lines(board, expected, size=26),
            *dimension_lines(board, _lines(drawn, layout.lines)),
            *layout.words(board),
        ]
    )


def _label(weak: WeakStep) -> Label:
    return Label(weak.crew, f" · {counted(weak.doors, 'door')}", "", _pencil(weak))


def _lines(drawn: list[tuple[WeakStep, Interval]], ys: list[float]) -> list[Dimension]:
    digits = one_precision([interval for _, interval in drawn], 100)
    return [_line(*pair, y, digits) for pair, y in zip(drawn, ys, strict=True)]


def _line(weak: WeakStep, interval: Interval, y: float, digits: int) -> Dimension:
    return interval_line(interval.scaled(100), y, digits, _pencil(weak), is_filled=weak.side != 0)


def _expected(weak: WeakStep, interval: Interval, y: float) -> Dimension:
    low, high, value = 100 * interval.low, 100 * interval.high, 100 * interval.estimate
    return Dimension(low, high, value, y, "", _pencil(weak), "circle", is_filled=False)


def _pencil(weak: WeakStep) -> str:
    return INK if weak.side else GREY


def _over_firm(weak: WeakStep, share: float | None) -> float:
    return (share or 0.0) - (weak.firm_out_share or 0.0)


def overview_chart(steps: dict[str, list[WeakStep]], is_narrow: bool) -> alt.LayerChart:
    """Crews down, steps across in the order of the work; in each cell the interval against the firm, on one scale."""
    if not steps:
        return nothing_to_draw("Nothing is recorded in any step.", is_narrow)
    return _Overview(steps, is_narrow).chart()


class _Overview:
    """A table of small dimension lines; places are pixels, the scale is the same in every cell.

    The firm's chain lines stand at the same place of each column, so that cells are read as more or less than it. What
    to expect of a crew's next doors decides as well, but has no line here: two in a cell could not be read.
    """

    row_step = 32

    def __init__(self, steps: dict[str, list[WeakStep]], is_narrow: bool) -> None:
        self.steps, self.is_narrow = steps, is_narrow
        everyone = [weak for crews in steps.values() for weak in crews]
        self.crews = foremost(((weak.crew, weak.side > 0, weak.doors) for weak in everyone), 2 * MOST_CREWS)
        self.shown = [weak for weak in everyone if weak.crew in self.crews and weak.share]
        width, self.left, self.top = (NARROW, 62, 74) if is_narrow else (DESK, 116, 52)
        right = 16 if is_narrow else 0  # into which the name of the last step leans
        self.step_width = (width - self.left - right) / len(steps)
        self.cell = self.step_width - (6 if is_narrow else 16)
        self.below = max([0.05, *(-_over_firm(weak, weak.out_low) for weak in self.shown)])
        self.above = max([0.05, *(_over_firm(weak, weak.out_high) for weak in self.shown)])
        self.foot = self.top + self.row_step * len(self.crews)
        self.board = Board(width, int(self.foot) + 24, 0, width, 0, width, "")

    def chart(self) -> alt.LayerChart:
        """The drawing."""
        parts = (self._datums(), self._cells(), self._shares(), self._heads(), self._names(), self._scale())
        return self.board.chart([layer for layers in parts for layer in layers])

    def _x(self, step: str, over: float) -> float:
        """The pixel of a share that lies `over` the firm's."""
        along = (over + self.below) / (self.below + self.above)
        return self.left + list(self.steps).index(step) * self.step_width + self.cell * along

    def _y(self, crew: str) -> float:
        return self.top + (self.crews.index(crew) + 0.5) * self.row_step + 4

    def _names(self) -> Layers:
        room = self.left - 10
        names = crew_names(self.crews, room, self.is_narrow)
        rows = [row(self._y(crew), name) for crew, name in zip(self.crews, names, strict=True)]
        return words_at(self.board, rows, room, "right")

    def _heads(self) -> Layers:
        layers: Layers = []
        for step, crews in self.steps.items():
            at = self._x(step, 0)
            if self.is_narrow:
                layers += words_at(self.board, [row(self.top - 8, step)], at, angle=300)
                continue
            firm = f"firm {percent(crews[0].firm_out_share)}"
            layers += words_at(self.board, [row(12, step), note(28, firm)], at, "center")
        return layers

    def _datums(self) -> Layers:
        return datum_lines(
            self.board, [{"x": self._x(step, 0), "y": self.top - 10, "y2": self.foot} for step in self.steps]
        )

    def _cells(self) -> Layers:
        return cell_lines(self.board, [self._placed(weak) for weak in self.shown], 8 if self.is_narrow else 22)

    def _shares(self) -> Layers:
        """The number of each crew that stands apart, over its line."""
        layers: Layers = []
        for weak in self.shown:
            if weak.side:
                at = self._x(weak.step, _over_firm(weak, weak.out_share))
                said = [row(self._y(weak.crew) - 10, f"{round(100 * (weak.out_share or 0.0))}")]
                layers += words_at(self.board, said, at, "center")
        return layers

    def _placed(self, weak: WeakStep) -> dict[str, Any]:
        shares = {"low": weak.out_low, "high": weak.out_high, "at": weak.out_share}
        places = {name: self._x(weak.step, _over_firm(weak, share)) for name, share in shares.items()}
        return {**places, "y": self._y(weak.crew), "pencil": _pencil(weak), "weight": 2.2 if weak.side > 0 else 1}

    def _scale(self) -> Layers:
        below, above = (round(100 * reach) for reach in (self.below, self.above))
        words = f"each column: {below} fewer to {above} more in 100 doors"
        words += "" if self.is_narrow else " than the firm"
        return words_at(self.board, [note(self.foot + 14, words)], 0 if self.is_narrow else self.left)
