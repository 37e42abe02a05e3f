"""Months seen and months to come on one axis, and what the outlook would have said in the past."""

from typing import Any

import altair as alt

from pipeline.report.charts.layout import Label, RowLayout, nothing_to_draw
from pipeline.report.charts.month_names import month_names
from pipeline.report.drawing.drawn import DESK, NARROW
from pipeline.report.drawing.lettering import width
from pipeline.report.drawing.marks import (
    OBLIQUE,
    Board,
    Dimension,
    Layer,
    Layers,
    data,
    dimension_lines,
    note,
    points_on,
    row,
    words_at,
)
from pipeline.report.drawing.pencils import BLUE, CHAIN, GREY, HATCH_UNDECIDED, INK, OCHRE, RED
from pipeline.report.numbers import Interval, count, day, number
from pipeline.report.rows.outlook_rows import LookBack, MonthAhead, PaperMonth

MOST_SEEN_WIDE, MOST_SEEN_NARROW = 18, 8


def ahead_chart(paper: list[PaperMonth], ahead: list[MonthAhead], is_narrow: bool) -> alt.LayerChart:
    """The last months as counted, then the twelve to come with their intervals."""
    months = [entry for entry in ahead if entry.month != "total" and entry.counted]
    if not months:
        return nothing_to_draw("Too few callbacks to foretell anything.", is_narrow)
    return _Months(paper[-(MOST_SEEN_NARROW if is_narrow else MOST_SEEN_WIDE) :], months, is_narrow).chart()


class _Months:
    """Months across, callbacks up; places are pixels."""

    top, foot = 44, 250

    def __init__(self, seen: list[PaperMonth], ahead: list[MonthAhead], is_narrow: bool) -> None:
        self.seen, self.ahead = seen, ahead
        across = NARROW if is_narrow else DESK
        self.left, self.right = 30, across - 6
        self.names = [entry.month for entry in seen] + [entry.month for entry in ahead]
        self.step = (self.right - self.left) / len(self.names)
        tops = [entry.counted.high for entry in ahead if entry.counted]
        tops += [max(float(entry.reported), entry.whole.high if entry.whole else 0.0) for entry in seen]
        self.reach = max([*tops, 1.0]) * 1.03
        self.board = Board(across, self.foot + 36, 0, across, 0, across, "")

    def chart(self) -> alt.LayerChart:
        """The drawing."""
        return self.board.chart(
            [
                *self._hatch(),
                *self._axis(),
                *self._bars(),
                *self._late(),
                *self._lines(),
                *self._today(),
                *self._years(),
            ]
        )

    def _x(self, index: int) -> float:
        return self.left + (index + 0.5) * self.step

    def _y(self, callbacks: float) -> float:
        return self.foot - (self.foot - self.top) * callbacks / self.reach

    def _hatch(self) -> Layers:
        late = [index for index, entry in enumerate(self.seen) if not entry.is_complete]
        if not late or not self.seen[0].is_corrected:
            return []
        words = f"complete to {day(self.seen[0].complete_to)}"
        begins = self._x(late[0]) - self.step / 2
        area = {"x": begins, "x2": self._today_x(), "y": self.top, "y2": self.foot}
        hatch = Layer(data([area])).mark_rect(fill=HATCH_UNDECIDED)
        return [
            hatch.encode(x=self.board.across("x"), x2=alt.X2("x2"), y=self.board.y(), y2=alt.Y2("y2")),
            *words_at(self.board, [row(self.top - 28, words, OCHRE)], max(begins - 4, width(words)), "right"),
        ]

    def _axis(self) -> Layers:
        ticks = [
            step for step in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000) if self.reach / step <= 6
        ]
        step = ticks[0] if ticks else self.reach / 5
        labels = [note(self._y(step * at), count(step * at)) for at in range(int(self.reach / step) + 1)]
        base = Layer(data([{"x": self.left, "x2": self.right, "y": self.foot}])).mark_rule(color=INK)
        return [
            base.encode(x=self.board.across("x"), x2=alt.X2("x2"), y=self.board.y()),
            *words_at(self.board, labels, self.left - 8, "right"),
            *words_at(self.board, [note(self.top - 12, "callbacks a month")], 0),
        ]

    def _bars(self) -> Layers:
        half = min(self.step * 0.24, 6)
        rows = [
            {"x": self._x(at) - half, "x2": self._x(at) + half, "y": self._y(entry.reported), "y2": self.foot}
            for at, entry in enumerate(self.seen)
            if entry.reported
        ]
        if not rows:
            return []
        bars = Layer(data(rows)).mark_rect(fill=INK)
        return [bars.encode(x=self.board.across("x"), x2=alt.X2("x2"), y=self.board.y(), y2=alt.Y2("y2"))]

    def _late(self) -> Layers:
        open_months = [
            (at, entry.whole) for at, entry in enumerate(self.seen) if entry.whole and entry.whole.high > entry.reported
        ]
        return self._upright([self._placed(at, whole, OCHRE) for at, whole in open_months])

    def _lines(self) -> Layers:
        first = len(self.seen)
        rows = [self._placed(first + at, entry.counted, BLUE) for at, entry in enumerate(self.ahead) if entry.counted]
        return self._upright(rows)

    def _placed(self, at: int, interval: Interval, pencil: str) -> dict[str, Any]:
        ends = {"y": self._y(interval.estimate), "low": self._y(interval.low), "high": self._y(interval.high)}
        return {"x": self._x(at), "pencil": pencil} | ends

    def _upright(self, rows: list[dict[str, Any]]) -> Layers:
        if not rows:
            return []
        stroke = alt.Stroke("pencil", type="nominal", scale=None)
        base = Layer(data(rows)).encode(x=self.board.across("x"), stroke=stroke)
        return [
            base.mark_rule().encode(y=self.board.y("low"), y2=alt.Y2("high")),
            base.mark_point(shape=OBLIQUE, size=24).encode(y=self.board.y("low")),
            base.mark_point(shape=OBLIQUE, size=24).encode(y=self.board.y("high")),
            base.mark_point(size=22).encode(y=self.board.y(), fill=alt.Fill("pencil", type="nominal", scale=None)),
        ]

    def _today_x(self) -> float:
        return self.left + len(self.seen) * self.step

    def _today(self) -> Layers:
        """The records' last day: what is left of it was counted, what is right of it is foretold."""
        x = self._today_x()
        line = Layer(data([{"x": x, "y": self.top - 20, "y2": self.foot}])).mark_rule(strokeDash=CHAIN, color=INK)
        return [
            line.encode(x=self.board.across("x"), y=self.board.y(), y2=alt.Y2("y2")),
            *words_at(self.board, [row(self.top - 12, "to come", BLUE)], x + 6),
        ]

    def _years(self) -> Layers:
        n = len(self.names)
        return month_names(self.board, self.names, self._x, self.foot, range((n - 1) % 3, n, 3))


def back_chart(looks: list[LookBack], is_narrow: bool) -> alt.LayerChart:
    """Each earlier day's interval, and what came as a red diamond on its line."""
    if not looks:
        return nothing_to_draw("The log is too short to look back.", is_narrow)
    layout = RowLayout(tuple(_label(look) for look in looks), is_narrow, label_width=270, top=10)
    high = max(max(look.callbacks_high, look.came) for look in looks)
    board = layout.board(0, 1.05 * high, "callbacks in the twelve months")
    lines = [
        Dimension(
            look.callbacks_low, look.callbacks_high, look.callbacks, y, number(look.callbacks), GREY, "circle", False
        )
        for look, y in zip(looks, layout.lines, strict=True)
    ]
    diamond = {"pencil": RED, "fill": RED, "shape": "diamond"}
    came = [{"at": look.came, "y": y} | diamond for look, y in zip(looks, layout.lines, strict=True)]
    return board.chart(
        [
            *dimension_lines(board, lines),
            *points_on(board, came, 60),
            *layout.words(board),
        ]
    )


def _label(look: LookBack) -> Label:
    return Label(f"said on {day(look.made_on)}", f" · {number(look.came)} came", "", INK if look.is_inside else RED)
