"""Drawings of the weak-steps sheet: crews by steps at a glance, and one step crew by crew."""

from typing import Any

import altair as alt

from pipeline.report.charts.cells import cell_lines, crew_names, datum_lines, foremost
from pipeline.report.charts.layout import Label, RowLayout, interval_line, nothing_to_draw
from pipeline.report.drawn import NARROW, WIDE
from pipeline.report.marks import (
    OBLIQUE,
    Board,
    Dimension,
    Layer,
    Layers,
    chain_line,
    data,
    dimension_lines,
    note,
    row,
    words_at,
)
from pipeline.report.numbers import Interval, counted, natural, one_precision, percent
from pipeline.report.pencils import GREY, INK
from pipeline.report.rows import WeakStep

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
    expected = [_expected(weak, weak.shrunk, y + BELOW) for (weak, _), y in pairs if weak.shrunk]
    return board.chart(
        [
            *chain_line(board, 100 * firm, f"firm {percent(firm)}"),
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


def overview_chart(steps: dict[str, list[WeakStep]], is_narrow: bool) -> alt.LayerChart:
    """Crews down, steps across in the order of the work; in each cell the interval, one scale for all cells."""
    if not steps:
        return nothing_to_draw("Nothing is recorded in any step.", is_narrow)
    return _Overview(steps, is_narrow).chart()


class _Overview:
    """A table of small dimension lines; places are pixels, the scale is the same in every cell."""

    top, row_step = 48, 26

    def __init__(self, steps: dict[str, list[WeakStep]], is_narrow: bool) -> None:
        self.steps, self.is_narrow = steps, is_narrow
        everyone = [weak for crews in steps.values() for weak in crews]
        self.crews = foremost(((weak.crew, weak.side > 0, weak.doors) for weak in everyone), 2 * MOST_CREWS)
        width, self.left = (NARROW, 58) if is_narrow else (WIDE, 116)
        self.step_width = (width - self.left) / len(steps)
        self.cell = self.step_width - (5 if is_narrow else 14)
        self.reach = min(1.0, max([0.1, *(weak.out_high or 0.0 for weak in everyone)]))
        self.foot = self.top + self.row_step * len(self.crews)
        self.board = Board(width, int(self.foot) + 22, 0, width, 0, width, "")

    def chart(self) -> alt.LayerChart:
        """The drawing."""
        return self.board.chart([*self._datums(), *self._cells(), *self._heads(), *self._names(), *self._scale()])

    def _x(self, step: str, share: float) -> float:
        return self.left + list(self.steps).index(step) * self.step_width + self.cell * min(share / self.reach, 1.0)

    def _y(self, crew: str) -> float:
        return self.top + (self.crews.index(crew) + 0.5) * self.row_step

    def _names(self) -> Layers:
        room = self.left - 10
        names = crew_names(self.crews, room, self.is_narrow)
        rows = [row(self._y(crew), name) for crew, name in zip(self.crews, names, strict=True)]
        return words_at(self.board, rows, room, "right")

    def _heads(self) -> Layers:
        layers: Layers = []
        for step, crews in self.steps.items():
            if self.is_narrow:
                layers += words_at(self.board, [row(self.top - 8, step)], self._x(step, 0), angle=315)
                continue
            firm = f"firm {percent(crews[0].firm_out_share)}"
            layers += words_at(self.board, [row(10, step), note(26, firm)], self._x(step, 0))
        return layers

    def _datums(self) -> Layers:
        rows = [
            {"x": self._x(step, crews[0].firm_out_share or 0.0), "y": self.top - 6, "y2": self.foot}
            for step, crews in self.steps.items()
        ]
        return datum_lines(self.board, rows)

    def _cells(self) -> Layers:
        shown = [weak for crews in self.steps.values() for weak in crews if weak.crew in self.crews]
        return [*cell_lines(self.board, [self._placed(weak) for weak in shown], 34), *self._expected(shown)]

    def _expected(self, shown: list[WeakStep]) -> Layers:
        rows = [
            {
                "low": self._x(weak.step, weak.shrunk.low),
                "high": self._x(weak.step, weak.shrunk.high),
                "y": self._y(weak.crew) + 6,
                "pencil": _pencil(weak),
            }
            for weak in shown
            if weak.shrunk
        ]
        pencil = alt.Stroke("pencil", type="nominal", scale=None)
        base = Layer(data(rows)).encode(y=self.board.y(), stroke=pencil)
        ends = (base.mark_point(shape=OBLIQUE, size=16).encode(x=self.board.across(end)) for end in ("low", "high"))
        return [base.mark_rule().encode(x=self.board.across("low"), x2=alt.X2("high")), *ends] if rows else []

    def _placed(self, weak: WeakStep) -> dict[str, Any]:
        shares = {"low": weak.out_low, "high": weak.out_high, "at": weak.out_share}
        places = {name: self._x(weak.step, share or 0.0) for name, share in shares.items()}
        return {**places, "y": self._y(weak.crew), "pencil": _pencil(weak), "weight": 2.2 if weak.side > 0 else 1}

    def _scale(self) -> Layers:
        words = f"each column runs from 0 to {percent(self.reach)} of doors"
        return words_at(self.board, [note(self.foot + 12, words)], self.left)
