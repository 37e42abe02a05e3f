"""Risk over one measured deviation: curve and interval, the limit, where risk is 1.5 times, the doors behind."""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any, Literal

import altair as alt

from pipeline.report.drawing.drawn import DESK, NARROW
from pipeline.report.drawing.lettering import fitted
from pipeline.report.drawing.marks import (
    Board,
    Dimension,
    Layer,
    Layers,
    data,
    dimension_lines,
    note,
    row,
    words_at,
    words_on,
)
from pipeline.report.drawing.pencils import BLUE, CHAIN, GREY, HATCH_OUT, INK, LINE, RED
from pipeline.report.numbers import count, plain
from pipeline.report.rows.dose_rows import RISK, CurvePoint, LimitAdvice
from pipeline.report.words.dose import at_value

LEAST, MOST = 1 / 4, 16.0  # the farthest that a curve is drawn to; its ends are in the table
SMOOTH: Literal["monotone"] = "monotone"
TICKS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0)


def dose_chart(points: Sequence[CurvePoint], advice: LimitAdvice, is_narrow: bool) -> alt.LayerChart:
    """points: of one pair, ascending, two at least."""
    return _Dose(points, advice, is_narrow).chart()


class _Dose:
    """Values across on the board's axis; ratios up, in pixels on a log scale; a strip of doors below."""

    top, foot, strip_top, strip_foot = 34, 204, 222, 256

    def __init__(self, points: Sequence[CurvePoint], advice: LimitAdvice, is_narrow: bool) -> None:
        self.points, self.advice = points, advice
        step = min(after.value - before.value for before, after in pairwise(points))
        self.half = step / 2
        width = NARROW if is_narrow else DESK
        low, high = points[0].value - self.half, points[-1].value + self.half
        unit, ticks = ("% of them", ".0%") if advice.unit == "share" else (advice.unit, Board.tick_format)
        title = f"{fitted(advice.words, width - 80)}, {unit}"
        self.board = Board(width, self.strip_foot, 40, width - 10, low, high, title, tick_format=ticks)
        self.low = max(min(0.8, *(point.hr_low for point in points)), LEAST)
        self.high = min(max(2.0, *(point.hr_high for point in points)), MOST)

    def chart(self) -> alt.LayerChart:
        """The drawing."""
        return self.board.chart(
            [
                *self._band(),
                *self._axis(),
                *self._datum(),
                *self._strip(),
                *self._limit(),
                *self._curve(),
                *self._risk(),
            ]
        )

    def _y(self, ratio: float) -> float:
        share = math.log(min(max(ratio, self.low), self.high) / self.low) / math.log(self.high / self.low)
        return self.foot - (self.foot - self.top) * share

    def _is_inside(self, ratio: float) -> bool:
        return self.low <= ratio <= self.high

    def _band(self) -> Layers:
        rows = [{"at": p.value, "y": self._y(p.hr_low), "y2": self._y(p.hr_high)} for p in self.points]
        area = Layer(data(rows)).mark_area(fill=LINE, fillOpacity=0.35, interpolate=SMOOTH)
        edges = [self._line({p.value: end(p) for p in self.points}, GREY, 0.7) for end in (_low, _high)]
        return [area.encode(x=self.board.x("at"), y=self.board.y(), y2=alt.Y2("y2")), *edges]

    def _line(self, ratios: dict[float, float], pencil: str, weight: float) -> Layer:
        rows = [{"at": value, "y": self._y(ratio)} for value, ratio in ratios.items() if self._is_inside(ratio)]
        line = Layer(data(rows)).mark_line(color=pencil, strokeWidth=weight, interpolate=SMOOTH)
        return line.encode(x=self.board.x("at"), y=self.board.y())

    def _curve(self) -> Layers:
        return [self._line({p.value: p.hazard_ratio for p in self.points}, INK, 1.8)]

    def _axis(self) -> Layers:
        ticks = [tick for tick in TICKS if self._is_inside(tick)]
        labels = [row(self._y(tick), plain(tick)) for tick in ticks]
        return [
            *words_at(self.board, labels, self.board.left - 8, "right"),
            *words_at(self.board, [note(8, f"times as often as at {self._with_unit(self.points[0].reference)}")], 0),
        ]

    def _datum(self) -> Layers:
        return [self._across(1.0, INK)]

    def _across(self, ratio: float, pencil: str) -> Layer:
        ends = data([{"from": self.board.low, "to": self.board.high, "y": self._y(ratio)}])
        line = Layer(ends).mark_rule(color=pencil, strokeDash=CHAIN, strokeWidth=0.8)
        return line.encode(x=self.board.x("from"), x2=alt.X2("to"), y=self.board.y())

    def _limit(self) -> Layers:
        limit = self.advice.limit_now
        if limit is None or not self.board.holds(limit):
            return []
        rule = Layer(data([{"at": limit, "y": self.top - 8, "y2": self.strip_foot}]))
        share = (limit - self.board.low) / (self.board.high - self.board.low)
        align, dx = ("right", -2) if share > 0.5 else ("left", 2)
        head = [{"at": limit, **row(self.top - 10, f"limit {self._with_unit(limit)}", RED)}]
        return [
            rule.mark_rule(strokeDash=CHAIN, color=RED).encode(x=self.board.x("at"), y=self.board.y(), y2=alt.Y2("y2")),
            *words_on(self.board, head, align, dx=dx),
        ]

    def _risk(self) -> Layers:
        """Where risk is 1.5 times, as a dimension line at that height; an end beyond the data is an arrow head."""
        found = self.advice
        if found.limit_risk_1_5 is None:
            return []
        beyond = (self.board.low - self.half, self.board.high + self.half)
        low = found.limit_low if found.limit_low is not None else beyond[0]
        high = found.limit_high if found.limit_high is not None else beyond[1]
        words = f"{plain(RISK)} times: {self._with_unit(found.limit_risk_1_5)}"
        line = Dimension(low, high, found.limit_risk_1_5, self._y(RISK), "", BLUE)
        share = (found.limit_risk_1_5 - self.board.low) / (self.board.high - self.board.low)
        align, dx = ("right", -8) if share > 0.6 else ("left", 8)
        below = [{"at": found.limit_risk_1_5, **row(self._y(RISK) + 14, words, BLUE)}]
        return [*dimension_lines(self.board, [line]), *words_on(self.board, below, align, dx=dx)]

    def _strip(self) -> Layers:
        most = max(point.doors for point in self.points)
        scale = (self.strip_foot - self.strip_top) / most
        rows = [self._bar(point, scale) for point in self.points]
        bars = Layer(data(rows)).mark_rect(strokeWidth=0.8)
        words = words_at(self.board, [note(self.strip_top + 4, count(most))], self.board.left - 8, "right")
        return [
            bars.encode(
                x=self.board.x("from"),
                x2=alt.X2("to"),
                y=self.board.y(),
                y2=alt.Y2("y2"),
                stroke=alt.Stroke("pencil", type="nominal", scale=None),
                fill=alt.Fill("fill", type="nominal", scale=None),
            ),
            *words,
        ]

    def _bar(self, point: CurvePoint, scale: float) -> dict[str, Any]:
        is_out = self._is_out(point.value)
        return {
            "from": point.value - 0.7 * self.half,
            "to": point.value + 0.7 * self.half,
            "y": self.strip_foot - max(scale * point.doors, 1.0),
            "y2": self.strip_foot,
            "pencil": RED if is_out else GREY,
            "fill": HATCH_OUT if is_out else GREY,
        }

    def _is_out(self, value: float) -> bool:
        limit = self.advice.limit_now
        if limit is None:
            return False
        return value < limit if self.advice.is_lower_worse else value > limit

    def _with_unit(self, value: float) -> str:
        return at_value(value, self.advice, 2)


def _low(point: CurvePoint) -> float:
    return point.hr_low


def _high(point: CurvePoint) -> float:
    return point.hr_high
