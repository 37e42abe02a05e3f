"""Drawing of the causes sheet: in how many callbacks each cause stands first."""

import altair as alt

from pipeline.report.charts.layout import Label, RowLayout, linear_reach, nothing_to_draw
from pipeline.report.first_cause_rows import FirstCause
from pipeline.report.lettering import fitted
from pipeline.report.marks import Dimension, chain_line, dimension_lines
from pipeline.report.numbers import Interval, as_name, count, number, one_precision
from pipeline.report.theme import GREY, INK

TITLE = "% of the callbacks that crews answer for"


def first_causes_chart(found: list[FirstCause], is_narrow: bool) -> alt.LayerChart:
    """A row a cause, the most frequent first, and what no cause explains last, in grey."""
    drawn = [(row, row.firsts.scaled(100)) for row in found if row.firsts]
    if not drawn:
        return nothing_to_draw("No callback to split.", is_narrow)
    layout = RowLayout(tuple(_label(row) for row, _ in drawn), is_narrow)
    board = layout.board(*linear_reach([interval for _, interval in drawn]), TITLE)
    digits = one_precision([interval for _, interval in drawn])
    lines = [_line(*pair, y, digits) for pair, y in zip(drawn, layout.lines, strict=True)]
    return board.chart([*chain_line(board, 0, "none"), *dimension_lines(board, lines), *layout.words(board)])


def _label(row: FirstCause) -> Label:
    counts = f"{count(row.first)} of {count(row.callbacks)}"
    if not row.is_cause:
        return Label("no cause accounts for a fifth", "", counts, GREY)
    return Label(as_name(row.words), "", f"→ {fitted(as_name(row.fault_words), 150)} · {counts}", INK)


def _line(row: FirstCause, interval: Interval, y: float, digits: int) -> Dimension:
    ends = (interval.low, interval.high, interval.estimate)
    pencil = INK if row.is_cause else GREY
    return Dimension(*ends, y, number(interval.estimate, digits), pencil, "circle", row.is_cause)
