"""Drawing of the training sheet: how many times as often since a training, one line a crew and step."""

import altair as alt

from pipeline.report.charts.layout import Label, RowLayout, doublings, interval_line, log_reach, nothing_to_draw
from pipeline.report.drawing.marks import Dimension, chain_line, dimension_lines
from pipeline.report.drawing.pencils import GREY, INK
from pipeline.report.numbers import Interval, one_precision
from pipeline.report.rows.training_rows import TrainingEffect
from pipeline.report.words.training import TIMES_OF, beside, doors, name, worth_a_line

MOST_LINES = 24


def training_chart(effects: list[TrainingEffect], is_narrow: bool) -> alt.LayerChart:
    """Trainings that can be judged, in step order, all of a step before its crews; one outcome."""
    drawn = [(effect, effect.change) for effect in worth_a_line(effects)[:MOST_LINES] if effect.change]
    if not drawn:
        return nothing_to_draw("Too few doors before or after a training.", is_narrow)
    labels = tuple(
        Label(name(effect), "", ", ".join(filter(None, (doors(effect), beside(effect)))), _pencil(change))
        for effect, change in drawn
    )
    layout = RowLayout(labels, is_narrow, label_width=310)
    low, high = log_reach([change for _, change in drawn])
    board = layout.board(low, high, TIMES_OF[drawn[0][0].outcome], is_log=True, ticks=doublings(low, high))
    digits = max(one_precision([change for _, change in drawn]), 1)
    lines = [_line(*pair, y, digits) for pair, y in zip(drawn, layout.lines, strict=True)]
    return board.chart([*chain_line(board, 1, "no change"), *dimension_lines(board, lines), *layout.words(board)])


def _line(effect: TrainingEffect, change: Interval, y: float, digits: int) -> Dimension:
    shape = "circle" if effect.is_of_crew else "diamond"
    return interval_line(change, y, digits, _pencil(change), shape, change.side != 0)


def _pencil(change: Interval) -> str:
    return INK if change.side else GREY
