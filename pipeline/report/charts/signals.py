"""One control chart, drawn as a surveyor draws a profile: ordinates from the datum, the limit as a red chain line."""

from datetime import date
from typing import Any

import altair as alt

from pipeline.report.drawing.drawn import DESK, NARROW
from pipeline.report.drawing.marks import Board, Layer, Layers, data, note, row, words_at
from pipeline.report.drawing.pencils import CHAIN, GREY, HATCH_OUT, INK, RED, SHEET
from pipeline.report.numbers import MONTHS
from pipeline.report.rows.signal_rows import Signal, SignalPoint

TOP, FOOT, HEIGHT = 24, 118, 142
LEFT, RIGHT = 66, 10  # left of the points the two lines are named


def signal_chart(signal: Signal, points: list[SignalPoint], is_narrow: bool) -> alt.LayerChart:
    """The points of one chart up to its last."""
    return _Small(signal, points, is_narrow).chart()


class _Small:
    """Days across, values up; places are pixels."""

    def __init__(self, signal: Signal, points: list[SignalPoint], is_narrow: bool) -> None:
        self.signal, self.points = signal, points
        self.width = NARROW if is_narrow else DESK
        self.first, self.last = points[0].at, points[-1].at
        values = [point.value for point in points]
        self.limit = signal.limit
        self.low, self.high = min(0.0, *values), 1.05 * max(self.limit, *values)
        self.board = Board(self.width, HEIGHT, 0, self.width, 0, self.width, "")

    def chart(self) -> alt.LayerChart:
        """The drawing."""
        return self.board.chart([*self._hatch(), *self._lines(), *self._points(), *self._words()])

    def _x(self, day: date) -> float:
        span = max((self.last - self.first).days, 1)
        share = min(max((day - self.first).days / span, 0.0), 1.0)
        return LEFT + share * (self.width - LEFT - RIGHT)

    def _y(self, value: float) -> float:
        return FOOT - (FOOT - TOP) * (value - self.low) / ((self.high - self.low) or 1.0)

    def _hatch(self) -> Layers:
        begin, end = self._x(self.signal.since), self._x(self.signal.at)
        area = {"x": begin, "x2": max(end, begin + 3), "y": TOP, "y2": FOOT}
        hatch = Layer(data([area])).mark_rect(fill=HATCH_OUT, opacity=0.35)
        return [hatch.encode(x=self.board.across("x"), x2=alt.X2("x2"), y=self.board.y(), y2=alt.Y2("y2"))]

    def _lines(self) -> Layers:
        return [
            *self._across(self._y(0.0), color=INK, strokeDash=CHAIN, strokeWidth=0.7),
            *self._across(self._y(self.limit), color=RED, strokeDash=CHAIN),
        ]

    def _across(self, y: float, **look: Any) -> Layers:
        line = Layer(data([{"x": LEFT, "x2": self.width - RIGHT, "y": y}])).mark_rule(**look)
        return [line.encode(x=self.board.across("x"), x2=alt.X2("x2"), y=self.board.y())]

    def _points(self) -> Layers:
        rows = [
            {
                "x": self._x(point.at),
                "y": self._y(point.value),
                "datum": self._y(0.0),
                "pencil": RED if point.is_out else INK,
                "line": RED if point.is_out else GREY,
                "fill": RED if point.is_out else SHEET,
                "size": 60 if point.is_out else 22,
                "shape": "diamond" if point.is_out else "circle",
            }
            for point in self.points
        ]
        base = Layer(data(rows)).encode(x=self.board.across("x"), y=self.board.y())
        marks = base.mark_point(opacity=1).encode(
            stroke=alt.Stroke("pencil", type="nominal", scale=None),
            fill=alt.Fill("fill", type="nominal", scale=None),
            size=alt.Size("size", type="quantitative", scale=None),
            shape=alt.Shape("shape", type="nominal", scale=None),
        )
        ordinates = base.mark_rule(strokeWidth=0.8).encode(
            y2=alt.Y2("datum"), stroke=alt.Stroke("line", type="nominal", scale=None)
        )
        return [ordinates, marks]

    def _words(self) -> Layers:
        ends = [(self.first, LEFT, "left"), (self.last, self.width - RIGHT, "right")]
        names = [row(self._y(self.limit), "limit", RED), note(self._y(0.0), "as before")]
        layers = words_at(self.board, names, LEFT - 10, "right")
        for day, x, align in ends:
            layers += words_at(self.board, [note(FOOT + 14, f"{MONTHS[day.month - 1][:3]} {day.year}")], x, align)
        return layers
