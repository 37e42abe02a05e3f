"""Drawing of the causes sheet: in how many callbacks each cause stands first."""

import altair as alt

from pipeline.report.charts.layout import Label, RowLayout, interval_line, linear_reach, nothing_to_draw
from pipeline.report.drawing.lettering import fitted
from pipeline.report.drawing.marks import chain_line, dimension_lines
from pipeline.report.drawing.pencils import GREY, INK
from pipeline.report.numbers import as_name, count, one_precision
from pipeline.report.rows.first_cause_rows import FirstCause
from pipeline.report.words.first_causes import mark

TITLE = "% of the callbacks that crews answer for"


def first_causes_chart(found: list[FirstCause], is_narrow: bool) -> alt.LayerChart:
    """A row a cause, the most frequent first, and what no cause explains last, in grey."""
    drawn = [(row, row.firsts.scaled(100)) for row in found if row.firsts]
    if not drawn:
        return nothing_to_draw("No callback to split.", is_narrow)
    layout = RowLayout(tuple(_label(row) for row, _ in drawn), is_narrow)
    board = layout.board(*linear_reach([interval for _, interval in drawn]), TITLE)
    digits = one_precision([interval for _, interval in drawn])
    lines = [
        interval_line(interval, y, digits, _pencil(row), is_filled=row.is_shown)
        for (row, interval), y in zip(drawn, layout.lines, strict=True)
    ]
    return board.chart([*chain_line(board, 0, "none"), *dimension_lines(board, lines), *layout.words(board)])


def _label(row: FirstCause) -> Label:
    counts = f"{count(row.first)} of {count(row.callbacks)}"
    if not row.is_cause:
        return Label("no cause accounts for a fifth", "", counts, _pencil(row))
    first, *others = as_name(row.fault_words).split(", ")
    faults = fitted(first, 150) + (f" and {count(len(others))} more" if others else "")
    return Label(as_name(row.words), mark(row), f"→ {faults} · {counts}", _pencil(row))


def _pencil(row: FirstCause) -> str:
    return INK if row.is_cause else GREY
