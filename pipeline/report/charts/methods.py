"""Drawings of the methods sheet: findings as reported, and as seen in other ways."""

from typing import Any

import altair as alt

from pipeline.report.charts.causes import PENCIL, finding_line, pair_label
from pipeline.report.charts.layout import RowLayout, doublings, log_reach, nothing_to_draw
from pipeline.report.drawing.marks import Board, chain_line, dimension_lines, points_on
from pipeline.report.drawing.pencils import GREY, SHEET
from pipeline.report.numbers import one_precision
from pipeline.report.rows.method_rows import OtherWay


def ways_chart(ways: list[OtherWay], is_narrow: bool) -> alt.LayerChart:
    """A row a finding: its interval as reported, and below the line what other ways of looking say."""
    found = [(way, way.times) for way in ways if way.is_as_reported and way.times]
    if not found:
        return nothing_to_draw("Nothing is claimed yet.", is_narrow)
    layout = RowLayout(tuple(pair_label(way, PENCIL[way.evidence]) for way, _ in found), is_narrow)
    low, high = log_reach([times for _, times in found])
    board = layout.board(low, high, "times as often", is_log=True, ticks=doublings(low, high))
    digits = one_precision([times for _, times in found])
    lines = [finding_line(times, y, digits, way.evidence) for (way, times), y in zip(found, layout.lines, strict=True)]
    ys = {way.pair: y for (way, _), y in zip(found, layout.lines, strict=True)}
    others = [way for way in ways if not way.is_as_reported and way.ratio is not None and way.pair in ys]
    rings = [_ring(board, way, ys[way.pair] + 9) for way in others]
    none = chain_line(board, 1, "no effect")
    return board.chart([*none, *dimension_lines(board, lines), *points_on(board, rings, 22), *layout.words(board)])


def _ring(board: Board, way: OtherWay, y: float) -> dict[str, Any]:
    shape = "circle" if way.verdict == "holds" else "cross"
    return {"at": board.clipped(way.ratio or 1.0), "y": y, "pencil": GREY, "fill": SHEET, "shape": shape}
