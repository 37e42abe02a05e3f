"""Drawings of the methods sheet: findings as reported, and as seen in other ways."""

from typing import Any

import altair as alt

from pipeline.report.charts.layout import Label, RowLayout, doublings, log_reach, nothing_to_draw
from pipeline.report.lettering import fitted
from pipeline.report.marks import Board, Dimension, Layers, chain_line, data, dimension_lines
from pipeline.report.method_rows import OtherWay
from pipeline.report.numbers import Interval, count, counted, number, one_precision
from pipeline.report.theme import BLUE, GREY, INK, SHEET


def ways_chart(ways: list[OtherWay], is_narrow: bool) -> alt.LayerChart:
    """A row a finding: its interval as reported, and below the line what other ways of looking say."""
    found = [(way, way.times) for way in ways if way.is_as_reported and way.times]
    if not found:
        return nothing_to_draw("Nothing is claimed yet.", is_narrow)
    layout = RowLayout(tuple(_label(way) for way, _ in found), is_narrow)
    low, high = log_reach([times for _, times in found])
    board = layout.board(low, high, "times as often", is_log=True, ticks=doublings(low, high))
    digits = one_precision([times for _, times in found])
    lines = [_line(way, times, y, digits) for (way, times), y in zip(found, layout.lines, strict=True)]
    ys = {way.pair: y for (way, _), y in zip(found, layout.lines, strict=True)}
    others = [way for way in ways if not way.is_as_reported and way.ratio is not None and way.pair in ys]
    rings = [_ring(board, way, ys[way.pair] + 9) for way in others]
    none = chain_line(board, 1, "no effect")
    return board.chart([*none, *dimension_lines(board, lines), *_rings(board, rings), *layout.words(board)])


def _label(way: OtherWay) -> Label:
    counts = f"{count(way.events)} on {counted(way.doors, 'door')}"
    pencil = INK if way.evidence == "strong" else BLUE
    return Label(way.words, "", f"→ {fitted(way.fault_words, 150)} · {counts}", pencil)


def _line(way: OtherWay, times: Interval, y: float, digits: int) -> Dimension:
    is_strong = way.evidence == "strong"
    pencil, shape = (INK, "circle") if is_strong else (BLUE, "diamond")
    estimate = number(times.estimate, digits)
    return Dimension(times.low, times.high, times.estimate, y, estimate, pencil, shape, is_strong)


def _ring(board: Board, way: OtherWay, y: float) -> dict[str, Any]:
    is_kept = way.verdict == "holds"
    return {"at": board.clipped(way.ratio or 1.0), "y": y, "pencil": GREY, "shape": "circle" if is_kept else "cross"}


def _rings(board: Board, rings: list[dict[str, Any]]) -> Layers:
    if not rings:
        return []
    return [
        alt.Chart(data(rings))
        .mark_point(size=22, fill=SHEET, strokeWidth=1.2)
        .encode(
            x=board.x("at"),
            y=board.y(),
            stroke=alt.Stroke("pencil", type="nominal", scale=None),
            shape=alt.Shape("shape", type="nominal", scale=None),
        )
    ]
