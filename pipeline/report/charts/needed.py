"""Doors on record and doors needed for an answer, pair by pair."""

import altair as alt

from pipeline.report.charts.layout import Label, RowLayout, nothing_to_draw
from pipeline.report.drawing.marks import Layer, bars, data, words_on
from pipeline.report.drawing.pencils import BLUE, BROKEN, INK, SHEET
from pipeline.report.numbers import count
from pipeline.report.rows.table_rows import Effect
from pipeline.report.words.common import pair


def needed_chart(effects: list[Effect], is_narrow: bool) -> alt.LayerChart:
    """A bar as long as the doors on record, a broken line on to the doors needed, with the number missing."""
    if not effects:
        return nothing_to_draw("No question is open that more doors would answer.", is_narrow)
    layout = RowLayout(tuple(Label(pair(effect)) for effect in effects), is_narrow, margin=70)
    high = max(effect.doors_needed or 0 for effect in effects)
    board = layout.board(0, 1.02 * high, "doors with the deviation recorded")
    placed = list(zip(effects, layout.lines, strict=True))
    recorded = [
        {"from": 0, "to": effect.doors, "y": y, "pencil": INK, "fill": SHEET} for effect, y in placed if effect.doors
    ]
    onward = [{"at": effect.doors, "to": effect.doors_needed, "y": y} for effect, y in placed]
    ends = Layer(data([{"at": effect.doors_needed, "y": y} for effect, y in placed]))
    missing = [
        {"at": effect.doors_needed, "y": y, "words": f"+{count(effect.doors_missing)}", "pencil": BLUE}
        for effect, y in placed
    ]
    line = Layer(data(onward)).mark_rule(strokeDash=BROKEN, color=BLUE)
    return board.chart(
        [
            *bars(board, recorded, 10),
            line.encode(x=board.x("at"), x2=alt.X2("to"), y=board.y()),
            ends.mark_point(shape="stroke", angle=90, size=90, color=BLUE).encode(x=board.x("at"), y=board.y()),
            *words_on(board, missing, dx=8),
            *layout.words(board),
        ]
    )
