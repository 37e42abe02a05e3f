"""The signs of a working drawing as Altair layers: dimension lines, chain lines, hatching, words.

A Board fixes where the value axis runs in pixels; everything else is placed by row in pixels from the top.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import Any

import altair as alt

from pipeline.report.drawing import lettering
from pipeline.report.drawing.pencils import CHAIN, GREY, INK, RED, SHEET, SHORT_CHAIN

HEAD = 14  # pixels from the top to where a chain line begins, its name above
OBLIQUE = "M-.75,.75L.75,-.75"  # the end of a dimension line, 45 degrees (ISO 129)
ONWARD_RIGHT, ONWARD_LEFT, ONWARD_UP = "M-.6,-.6L.4,0L-.6,.6", "M.6,-.6L-.4,0L.6,.6", "M-.6,.6L0,-.4L.6,.6"


class Layer(alt.Chart):
    """One layer of a drawing; changed by nobody once it is in one, so that layers need no copies to be put together."""

    def __deepcopy__(self, memo: object = None) -> "Layer":
        return self.copy(deep=False)


Layers = list[Layer]


@dataclass(frozen=True)
class Board:
    """A value axis from `low` to `high` between the pixels `left` and `right`; rows are pixels from the top.

    datum_spans  where chain lines run, top to foot; empty: through all rows
    """

    width: int
    height: int
    left: int
    right: int
    low: float
    high: float
    title: str
    is_log: bool = False
    ticks: tuple[float, ...] | None = None
    tick_format: str = ",.6~r"
    tick_step: float | None = None
    datum_spans: tuple[tuple[float, float], ...] = ()

    def x(self, field: str) -> alt.X:
        """The value axis for a field."""
        scale = alt.Scale(
            type="log" if self.is_log else "linear",
            domain=[self.low, self.high],
            range=[self.left, self.right],
            nice=False,
            zero=False,
        )
        axis = alt.Axis(
            title=self.title,
            format=self.tick_format,
            labelOverlap="greedy",
            labelFlush=False,
            titleAnchor=self._anchor(),
            **self._ticks(),
        )
        return alt.X(field, type="quantitative", scale=scale, axis=axis)

    def _anchor(self) -> Any:
        """Where the words below the axis stand: in its middle, and flush with its end where they are longer than it."""
        if self.left < 40:
            return "start"
        return "middle" if lettering.width(self.title) < self.right - self.left else "end"

    def _ticks(self) -> dict[str, Any]:
        if self.ticks:
            return {"values": list(self.ticks)}
        most = 4 if self.width < 400 else 7
        if self.tick_step and (self.high - self.low) / self.tick_step <= most:  # else the axis would count halves
            first, last = ceil(self.low / self.tick_step), floor(self.high / self.tick_step)
            if first <= last:
                return {"values": [self.tick_step * step for step in range(first, last + 1)]}
        return {"tickCount": most}

    def y(self, field: str = "y") -> alt.Y:
        """Pixels from the top."""
        scale = alt.Scale(domain=[0, self.height], range=[0, self.height], nice=False, zero=False)
        return alt.Y(field, type="quantitative", scale=scale, axis=None)

    def across(self, field: str) -> alt.X:
        """Pixels from the left."""
        scale = alt.Scale(domain=[0, self.width], range=[0, self.width], nice=False, zero=False)
        return alt.X(field, type="quantitative", scale=scale, axis=None)

    def holds(self, value: float) -> bool:
        """The value lies on the axis."""
        return self.low <= value <= self.high

    def clipped(self, value: float) -> float:
        """The value, or the end of the axis that it lies beyond."""
        return min(max(value, self.low), self.high)

    def chart(self, layers: Layers) -> alt.LayerChart:
        """The finished drawing."""
        return alt.LayerChart(layer=layers, width=self.width, height=self.height)


@dataclass(frozen=True)
class Dimension:
    """An interval to draw: ends, the estimate on it, its number, its pencil, the row it stands in."""

    low: float
    high: float
    value: float
    y: float
    number: str = ""
    pencil: str = INK
    shape: str = "circle"
    is_filled: bool = True


def data(rows: Sequence[dict[str, Any]]) -> alt.InlineData:
    """Rows as inline data."""
    return alt.InlineData(values=list(rows))


def dimension_lines(board: Board, dimensions: Sequence[Dimension], size: int = 70) -> Layers:
    """Thin lines with an oblique stroke at both ends; an end beyond the axis is an arrow head instead.

    size  square pixels of an end, which the estimate on the line follows
    """
    rows = [_placed(board, dimension) for dimension in dimensions]
    if not rows:
        return []
    base = Layer(data(rows)).encode(y=board.y())
    pencil = alt.Stroke("pencil", type="nominal", scale=None)
    return [
        base.mark_rule().encode(x=board.x("low"), x2=alt.X2("high"), stroke=pencil),
        *(_ends(base, board, pencil, end, size) for end in ("low", "high")),
        base.mark_point(size=0.65 * size).encode(
            x=board.x("value"),
            stroke=pencil,
            fill=alt.Fill("fill", type="nominal", scale=None),
            shape=alt.Shape("shape", type="nominal", scale=None),
        ),
        base.mark_text(dy=-11, align="center").encode(
            x=board.x("value"),
            text=alt.Text("number", type="nominal"),
            color=alt.Color("pencil", type="nominal", scale=None),
        ),
    ]


def _ends(base: Layer, board: Board, pencil: alt.Stroke, end: str, size: int) -> Layer:
    shape = alt.Shape(f"{end}_end", type="nominal", scale=None)
    return base.mark_point(size=size, strokeWidth=1.4).encode(x=board.x(end), stroke=pencil, shape=shape)


def _placed(board: Board, dimension: Dimension) -> dict[str, Any]:
    return {
        "low": board.clipped(dimension.low),
        "high": board.clipped(dimension.high),
        "value": board.clipped(dimension.value),
        "low_end": OBLIQUE if board.holds(dimension.low) else ONWARD_LEFT,
        "high_end": OBLIQUE if board.holds(dimension.high) else ONWARD_RIGHT,
        "y": dimension.y,
        "number": dimension.number,
        "pencil": dimension.pencil,
        "fill": dimension.pencil if dimension.is_filled else SHEET,
        "shape": dimension.shape,
    }


def chain_line(board: Board, at: float, words: str, pencil: str = INK) -> Layers:
    """A datum (ink) or a limit (red) across all rows, named at its head."""
    head = Layer(data([{"at": at, "y": HEAD, "words": words}]))
    spans = [{"at": at, "y": top, "y2": foot} for top, foot in board.datum_spans or ((HEAD, board.height),)]
    return [
        Layer(data(spans))
        .mark_rule(strokeDash=SHORT_CHAIN if board.datum_spans else CHAIN, color=pencil)
        .encode(x=board.x("at"), y=board.y(), y2=alt.Y2("y2")),
        head.mark_text(color=pencil, baseline="bottom", dy=-3, align=_align(board, at)).encode(
            x=board.x("at"), y=board.y(), text=alt.Text("words", type="nominal")
        ),
    ]


def _align(board: Board, at: float) -> Any:
    # A name near an end of the axis leans inwards, so that a phone does not cut it.
    share = (at - board.low) / (board.high - board.low)
    if share > 0.75:
        return "right"
    return "center" if share > 0.25 else "left"


def limit_line(board: Board, at: float, words: str) -> Layers:
    """A limit: a red chain line."""
    return chain_line(board, at, words, RED)


def bars(board: Board, rows: Sequence[dict[str, Any]], height: float = 14) -> Layers:
    """Lying bars from `from` to `to` in row `y`, outlined in `pencil`, filled with `fill` (a pencil, a hatch, none)."""
    if not rows:
        return []
    placed = [{**row, "y_top": row["y"] - height / 2, "y_foot": row["y"] + height / 2} for row in rows]
    return [
        Layer(data(placed))
        .mark_rect(strokeWidth=1)
        .encode(
            x=board.x("from"),
            x2=alt.X2("to"),
            y=board.y("y_top"),
            y2=alt.Y2("y_foot"),
            stroke=alt.Stroke("pencil", type="nominal", scale=None),
            fill=alt.Fill("fill", type="nominal", scale=None),
        )
    ]


def points_on(board: Board, rows: Sequence[dict[str, Any]], size: int) -> Layers:
    """Single marks at the value `at` of each row, in row `y`: `shape` drawn in `pencil`, filled with `fill`."""
    if not rows:
        return []
    return [
        Layer(data(rows))
        .mark_point(size=size, strokeWidth=1.2)
        .encode(
            x=board.x("at"),
            y=board.y(),
            stroke=alt.Stroke("pencil", type="nominal", scale=None),
            fill=alt.Fill("fill", type="nominal", scale=None),
            shape=alt.Shape("shape", type="nominal", scale=None),
        )
    ]


def words_at(board: Board, rows: Sequence[dict[str, Any]], x: float, align: Any = "left", **look: Any) -> Layers:
    """The text `words` of each row at pixel `x`, in row `y`, in `pencil`."""
    if not rows:
        return []
    return [
        Layer(data(rows))
        .mark_text(align=align, **look)
        .encode(
            x=alt.XValue(x),
            y=board.y(),
            text=alt.Text("words", type="nominal"),
            color=alt.Color("pencil", type="nominal", scale=None),
        )
    ]


def words_on(board: Board, rows: Sequence[dict[str, Any]], align: Any = "left", **look: Any) -> Layers:
    """The text `words` of each row at its value `at`, in row `y`, in `pencil`."""
    if not rows:
        return []
    return [
        Layer(data(rows))
        .mark_text(align=align, **look)
        .encode(
            x=board.x("at"),
            y=board.y(),
            text=alt.Text("words", type="nominal"),
            color=alt.Color("pencil", type="nominal", scale=None),
        )
    ]


def row(y: float, words: str, pencil: str = INK) -> dict[str, Any]:
    """A row of words for `words_at`."""
    return {"y": y, "words": words, "pencil": pencil}


def note(y: float, words: str) -> dict[str, Any]:
    """The same in grey: what is not claimed, or how many stand behind a line."""
    return row(y, words, GREY)


def rules(board: Board, ys: Sequence[float], pencil: str = GREY) -> Layers:
    """Thin lines across the whole drawing, between groups of rows."""
    if not ys:
        return []
    base = Layer(data([{"y": y} for y in ys]))
    return [
        base.mark_rule(color=pencil, strokeWidth=0.5).encode(x=alt.XValue(0), x2=alt.X2Value(board.width), y=board.y())
    ]
