"""Drawing of the owner's sheet: what each act could spare a year, in money."""

import altair as alt

from pipeline.report.charts.causes import finding_line, pair_label
from pipeline.report.charts.layout import RowLayout, linear_reach
from pipeline.report.drawing.marks import chain_line, dimension_lines
from pipeline.report.drawing.pencils import INK
from pipeline.report.numbers import Interval, one_precision
from pipeline.report.rows.table_rows import Effect


def worth_chart(ranked: list[tuple[Effect, Interval]], currency: str | None, is_narrow: bool) -> alt.LayerChart:
    """ranked: one cause at least, the dearest first; a row each, with its cost a year beyond the limit."""
    layout = RowLayout(tuple(pair_label(effect, INK) for effect, _ in ranked), is_narrow)
    worths = [worth for _, worth in ranked]
    board = layout.board(*linear_reach(worths), f"{currency or 'cost'} a year, every door at its limit")
    digits = one_precision(worths)
    lines = [finding_line(worth, y, digits, "strong") for worth, y in zip(worths, layout.lines, strict=True)]
    return board.chart([*chain_line(board, 0, "none"), *dimension_lines(board, lines), *layout.words(board)])
