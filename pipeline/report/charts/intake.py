"""Drawings of the records sheet: on how many doors each deviation is recorded, why rows were set aside."""

from typing import Any

import altair as alt

from pipeline.report.charts.layout import Label, RowLayout, nothing_to_draw
from pipeline.report.drawing.lettering import width
from pipeline.report.drawing.marks import bars, limit_line, row, words_on
from pipeline.report.drawing.pencils import HATCH_UNDECIDED, INK, OCHRE
from pipeline.report.numbers import count, percent
from pipeline.report.rows.intake_rows import Reason
from pipeline.report.rows.table_rows import RecordedShare
from pipeline.report.words.intake import in_short

BESIDE = 7  # pixels from the end of a bar to its number


def recorded_chart(recorded: list[RecordedShare], least: float, is_narrow: bool) -> alt.LayerChart:
    """On what share of doors each deviation is recorded; below `least` nothing can be said of it."""
    shown = [share for share in recorded if share.doors_recorded]
    if not shown:
        return nothing_to_draw("No reading and no check is on record.", is_narrow)
    labels = tuple(Label(share.words) for share in shown)
    layout = RowLayout(labels, is_narrow, label_width=320, margin=62, is_dense=True)
    board = layout.board(0, 100, "% of all doors")
    pairs = list(zip(shown, layout.lines, strict=True))
    room = (board.right - board.left) * least
    ends = [_words_of(share, y, least, room) for share, y in pairs]
    return board.chart(
        [
            *bars(board, [_bar_of(share, y, least) for share, y in pairs], 10),
            *limit_line(board, 100 * least, f"too few below {percent(least)}"),
            *words_on(board, ends, dx=BESIDE),
            *layout.words(board),
        ]
    )


def _bar_of(share: RecordedShare, y: float, least: float) -> dict[str, Any]:
    is_enough = share.share >= least
    look = {"pencil": INK, "fill": None} if is_enough else {"pencil": OCHRE, "fill": HATCH_UNDECIDED}
    return {"y": y, "from": 0, "to": 100 * share.share, **look}


def _words_of(share: RecordedShare, y: float, least: float, room: float) -> dict[str, Any]:
    """The share beside its bar, or beyond the red line where that would run through it. room: pixels to the line."""
    said = percent(share.share)
    if share.share >= least:
        return {"at": 100 * share.share, **row(y, said, INK)}
    is_crossed = room * share.share / least + BESIDE + width(said) > room
    return {"at": 100 * (least if is_crossed else share.share), **row(y, said, OCHRE)}


def reasons_chart(reasons: list[Reason], is_narrow: bool) -> alt.LayerChart:
    """How many rows, cells and files were set aside for each reason."""
    if not reasons:
        return nothing_to_draw("Nothing was set aside.", is_narrow)
    labels = tuple(Label(in_short(reason), "", reason.place) for reason in reasons)
    layout = RowLayout(labels, is_narrow, label_width=380, margin=60, top=8)
    board = layout.board(0, max(reason.rows for reason in reasons), "rows, cells and files", tick_step=1)
    pairs = list(zip(reasons, layout.lines, strict=True))
    lying = [{"y": y, "from": 0, "to": reason.rows, "pencil": INK, "fill": None} for reason, y in pairs]
    ends = [{"at": reason.rows, **row(y, count(reason.rows))} for reason, y in pairs]
    return board.chart([*bars(board, lying, 10), *words_on(board, ends, dx=7), *layout.words(board)])
