"""How well the plain model and its challenger rank doors on a later period, a row a fault."""

import altair as alt

from pipeline.report.charts.layout import Label, RowLayout, interval_line, nothing_to_draw
from pipeline.report.drawing.marks import chain_line, dimension_lines, points_on
from pipeline.report.drawing.pencils import BLUE, INK, RED, SHEET
from pipeline.report.numbers import count, counted, one_precision
from pipeline.report.rows.check_rows import ModelCheck
from pipeline.report.words.model_checks import MISSED, judged

LEAST, MOST = 40.0, 100.0


def order_chart(checks: list[ModelCheck], is_narrow: bool) -> alt.LayerChart:
    """A line for the plain model, and below it a ring for the challenger or a cross where something is missed."""
    drawn = [(check, check.order_plain.scaled(100)) for check in judged(checks) if check.order_plain]
    if not drawn:
        return nothing_to_draw("Too few callbacks came later to judge by.", is_narrow)
    layout = RowLayout(tuple(_label(check) for check, _ in drawn), is_narrow)
    low = min(LEAST, *(interval.low for _, interval in drawn))
    board = layout.board(low, MOST, "% of pairs of doors ranked rightly")
    digits = one_precision([interval for _, interval in drawn])
    pairs = list(zip(drawn, layout.lines, strict=True))
    lines = [interval_line(interval, y, digits) for (_, interval), y in pairs]
    rings = [
        {
            "at": board.clipped(100 * (check.c_challenger or 0.5)), "y": y + 9, "fill": SHEET,
            "pencil": RED if check.verdict == MISSED else BLUE,
            "shape": "cross" if check.verdict == MISSED else "circle",
        }
        for (check, _), y in pairs
    ]  # fmt: skip
    chance = chain_line(board, 50, "chance")
    return board.chart([*chance, *dimension_lines(board, lines), *points_on(board, rings, 30), *layout.words(board)])


def _label(check: ModelCheck) -> Label:
    return Label(check.name, "", f"{counted(check.came, 'callback')} later, {count(check.before)} before", INK)
