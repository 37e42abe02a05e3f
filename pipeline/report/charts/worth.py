"""Drawing of the owner's sheet: what each act could spare a year, in money."""

import altair as alt

from pipeline.report.charts.causes import finding_line, pair_label
from pipeline.report.charts.layout import RowLayout, linear_reach, nothing_to_draw
from pipeline.report.marks import chain_line, dimension_lines
from pipeline.report.numbers import Interval, one_precision
from pipeline.report.pencils import INK
from pipeline.report.rows import Effect


def worth_chart(ranked: list[tuple[Effect, Interval]], currency: str | None, is_narrow: bool) -> alt.LayerChart:
    """A row a cause, the dearest first: its cost a year beyond the limit."""
    if not ranked:
        return nothing_to_draw("The cost of no cause is known.", is_narrow)
    layout = RowLayout(tuple(pair_label(effect, INK) for effect, _ in ranked), is_narrow)
    worths = [worth for _, worth in ranked]
    board = layout.board(*linear_reach(worths), f"{currency or 'cost'} a year, every door at its limit")
    digits = one_precision(worths)
    lines = [finding_line(worth, y, digits, "strong") for worth, y in zip(worths, layout.lines, strict=True)]
    return board.chart([*chain_line(board, 0, "none"), *dimension_lines(board, lines), *layout.words(board)])
