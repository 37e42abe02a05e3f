"""The trend: callbacks per 100 door-years by month, what is not complete hatched as undecided, counts below."""

from typing import Any

import altair as alt

from pipeline.report.charts.layout import nothing_to_draw
from pipeline.report.charts.month_names import month_names
from pipeline.report.drawing.drawn import DESK, NARROW
from pipeline.report.drawing.marks import OBLIQUE, ONWARD_UP, Board, Layer, Layers, data, note, row, words_at
from pipeline.report.drawing.pencils import CHAIN, GREY, HATCH_UNDECIDED, INK, OCHRE
from pipeline.report.numbers import count, number
from pipeline.report.rows.table_rows import Month

MOST_WIDE, MOST_NARROW = 36, 18


def months_chart(months: list[Month], firm_rate: float | None, is_narrow: bool) -> alt.LayerChart:
    """The last months, as many as there is room for."""
    shown = months[-(MOST_NARROW if is_narrow else MOST_WIDE) :]
    if not shown:
        return nothing_to_draw("No month to show.", is_narrow)
    return _Trend(shown, firm_rate, is_narrow).chart()


class _Trend:
    """Months across, rates up; places are pixels."""

    top, foot, strip_top, strip_foot = 26, 216, 240, 274

    def __init__(self, months: list[Month], firm_rate: float | None, is_narrow: bool) -> None:
        self.months, self.firm_rate = months, firm_rate
        width = NARROW if is_narrow else DESK
        self.left, self.right = 34, width - 6
        self.step = (self.right - self.left) / len(months)
        self.reach = _reach(months, firm_rate)
        self.board = Board(width, self.strip_foot + 36, 0, width, 0, width, "")

    def chart(self) -> alt.LayerChart:
        """The drawing."""
        return self.board.chart(
            [*self._hatch(), *self._axis(), *self._datum(), *self._rates(), *self._strip(), *self._years()]
        )

    def _x(self, index: int) -> float:
        return self.left + (index + 0.5) * self.step

    def _y(self, rate: float) -> float:
        return self.foot - (self.foot - self.top) * min(rate, self.reach) / self.reach

    def _hatch(self) -> Layers:
        late = [index for index, month in enumerate(self.months) if not month.is_complete]
        if not late:
            return []
        area = {"x": self._x(late[0]) - self.step / 2, "x2": self.right, "y": self.top, "y2": self.foot}
        hatch = Layer(data([area])).mark_rect(fill=HATCH_UNDECIDED)
        words = words_at(self.board, [row(self.top - 10, "not complete", OCHRE)], self.right, "right")
        return [hatch.encode(x=self.board.across("x"), x2=alt.X2("x2"), y=self.board.y(), y2=alt.Y2("y2")), *words]

    def _axis(self) -> Layers:
        labels = [note(self._y(tick), number(tick, 0 if self.reach >= 4 else 1)) for tick in _round_ticks(self.reach)]
        title = [note(self.top - 10, "callbacks per 100 door-years")]
        return [
            *self._across(self.foot),
            *words_at(self.board, labels, self.left - 8, "right"),
            *words_at(self.board, title, 0),
        ]

    def _across(self, y: float, **look: Any) -> Layers:
        line = Layer(data([{"x": self.left, "x2": self.right, "y": y}])).mark_rule(color=INK, **look)
        return [line.encode(x=self.board.across("x"), x2=alt.X2("x2"), y=self.board.y())]

    def _datum(self) -> Layers:
        return [] if self.firm_rate is None else self._across(self._y(self.firm_rate), strokeDash=CHAIN)

    def _rates(self) -> Layers:
        rows = [self._placed(index, month) for index, month in enumerate(self.months) if month.per_100]
        base = Layer(data(rows)).encode(
            x=self.board.across("x"), stroke=alt.Stroke("pencil", type="nominal", scale=None)
        )
        end = alt.Shape("top_end", type="nominal", scale=None)
        return [
            base.mark_rule().encode(y=self.board.y("low"), y2=alt.Y2("high")),
            base.mark_point(shape=OBLIQUE, size=24).encode(y=self.board.y("low")),
            base.mark_point(size=24).encode(y=self.board.y("high"), shape=end),
            base.mark_point(size=22).encode(y=self.board.y(), fill=alt.Fill("pencil", type="nominal", scale=None)),
        ]

    def _placed(self, index: int, month: Month) -> dict[str, Any]:
        if month.per_100 is None:
            return {}
        return {
            "x": self._x(index),
            "y": self._y(month.per_100.estimate),
            "low": self._y(month.per_100.low),
            "high": self._y(month.per_100.high),
            "top_end": OBLIQUE if month.per_100.high <= self.reach else ONWARD_UP,
            "pencil": INK if month.is_complete else OCHRE,
        }

    def _strip(self) -> Layers:
        most = max(month.callbacks for month in self.months)
        if not most:
            return []
        half, scale = min(self.step * 0.32, 9), (self.strip_foot - self.strip_top) / most
        rows = [
            {
                "x": self._x(index) - half,
                "x2": self._x(index) + half,
                "y": self.strip_foot - scale * month.callbacks,
                "y2": self.strip_foot,
            }
            for index, month in enumerate(self.months)
        ]
        bars = Layer(data(rows)).mark_rect(fill=GREY)
        words = words_at(self.board, [note(self.strip_top + 4, count(most))], self.left - 8, "right")
        return [bars.encode(x=self.board.across("x"), x2=alt.X2("x2"), y=self.board.y(), y2=alt.Y2("y2")), *words]

    def _years(self) -> Layers:
        names, every = [month.month for month in self.months], 3 if len(self.months) > 8 else 1
        return month_names(self.board, names, self._x, self.strip_foot, range(0, len(names), every))


def _reach(months: list[Month], firm_rate: float | None) -> float:
    # The first months watch few doors: their long lines must not press the others flat.
    rates = [month.per_100 for month in months if month.per_100]
    usual = sorted(rate.estimate for rate in rates)[int(0.8 * (len(rates) - 1))] if rates else 0.0
    longest = max([rate.high for rate in rates], default=0.0)
    usual = max(usual, firm_rate or 0.0)
    return max(min(longest, 3 * usual), 1.1 * (firm_rate or 0.0)) or longest or 1.0


def _round_ticks(reach: float) -> list[float]:
    for step in (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000):
        if reach / step <= 6:
            return [step * index for index in range(int(reach / step) + 1)]
    return [0.0, reach]
