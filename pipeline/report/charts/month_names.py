"""Months named under an axis, and under each January its year."""

from collections.abc import Callable, Sequence

from pipeline.report.drawing.marks import Board, Layers, note, row, words_at
from pipeline.report.numbers import MONTHS

ROOM = 36  # pixels from the middle of one year's number to the next
BELOW, FURTHER_BELOW = 14, 30


def month_names(board: Board, months: Sequence[str], x_of: Callable[[int], float], foot: float, named: range) -> Layers:
    """Names and years as far as there is room for them.

    months  `2026-03`, each a place on the axis; x_of: the pixel of a place; foot: of the axis
    named   the places whose month is named
    """
    layers: Layers = []
    january = next((at for at, month in enumerate(months) if month.endswith("-01")), None)
    for at, month in enumerate(months):
        year, of_year = month.split("-")
        if at in named:
            layers += words_at(board, [note(foot + BELOW, MONTHS[int(of_year) - 1][:3])], x_of(at), "center")
        is_first = at == 0 and (january is None or x_of(january) - x_of(0) >= ROOM)
        if of_year == "01" or is_first:
            layers += words_at(board, [row(foot + FURTHER_BELOW, year)], x_of(at), "center")
    return layers
