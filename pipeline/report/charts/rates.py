"""Drawings of the owner's sheet: crews' rates, fair ratios, who answers for the callbacks."""

import altair as alt

from pipeline.report.charts.layout import (
    Label,
    RowLayout,
    doublings,
    interval_line,
    linear_reach,
    log_reach,
    nothing_to_draw,
)
from pipeline.report.drawing.marks import Dimension, bars, chain_line, dimension_lines, row, words_on
from pipeline.report.drawing.pencils import BLUE, GREY, INK
from pipeline.report.numbers import Interval, count, number, one_precision
from pipeline.report.rows.table_rows import CrewRate, Tally

MOST_CREWS = 24
LABEL_WIDTH = 270


def shown_crews(crews: list[CrewRate]) -> list[CrewRate]:
    """The crews to draw, most watched first; where they are many, those apart and those most watched."""
    first = sorted(crews, key=lambda rate: (rate.side == 0, -rate.door_years))[:MOST_CREWS]
    return sorted(first, key=lambda rate: -rate.door_years)


def rate_chart(crews: list[CrewRate], firm_rate: float, is_narrow: bool) -> alt.LayerChart:
    """Rates with intervals, from the most to the least watched crew: chance widens the lines downwards, as a funnel."""
    drawn = [(rate, rate.per_100) for rate in shown_crews(crews) if rate.per_100]
    if not drawn:
        return nothing_to_draw("No crew has time at risk.", is_narrow)
    layout = RowLayout(tuple(_rate_label(rate) for rate, _ in drawn), is_narrow, LABEL_WIDTH)
    board = layout.board(*linear_reach([interval for _, interval in drawn]), "callbacks per 100 door-years")
    lines = _lines(drawn, layout.lines)
    digits = one_precision([interval for _, interval in drawn])
    datum = chain_line(board, firm_rate, f"firm {number(firm_rate, digits)}")
    return board.chart([*datum, *dimension_lines(board, lines), *layout.words(board)])


def fair_chart(crews: list[CrewRate], is_narrow: bool) -> alt.LayerChart:
    """Callbacks against what the firm would have had on the same doors, drawn towards 1 where doors are few."""
    drawn = [(rate, rate.fair) for rate in shown_crews(crews) if rate.fair]
    if not drawn:
        return nothing_to_draw("There is nothing to compare crews with.", is_narrow)
    layout = RowLayout(tuple(_fair_label(rate) for rate, _ in drawn), is_narrow, LABEL_WIDTH)
    low, high = log_reach([interval for _, interval in drawn])
    title = "times as often as the firm on the same doors"
    board = layout.board(low, high, title, is_log=True, ticks=doublings(low, high))
    lines = _lines(drawn, layout.lines)
    return board.chart([*chain_line(board, 1, "as the firm"), *dimension_lines(board, lines), *layout.words(board)])


def _lines(drawn: list[tuple[CrewRate, Interval]], ys: list[float]) -> list[Dimension]:
    digits = one_precision([interval for _, interval in drawn])
    return [_line(*pair, y, digits) for pair, y in zip(drawn, ys, strict=True)]


def _line(rate: CrewRate, interval: Interval, y: float, digits: int) -> Dimension:
    shape = "diamond" if rate.hint else "circle"
    return interval_line(interval, y, digits, _pencil(rate), shape, rate.side != 0)


def _rate_label(rate: CrewRate) -> Label:
    watched = f"{count(rate.callbacks)} in {count(round(rate.door_years))} door-years"
    return Label(rate.crew, f" · {watched}", "", _pencil(rate))


def _fair_label(rate: CrewRate) -> Label:
    expected = "" if rate.expected is None else f", {number(rate.expected)} expected"
    return Label(rate.crew, f" · {count(rate.callbacks)} came{expected}", "", _pencil(rate))


def _pencil(rate: CrewRate) -> str:
    return INK if rate.side else BLUE if rate.hint else GREY


def tally_chart(tallies: list[Tally], answered: tuple[str, ...], title: str, is_narrow: bool) -> alt.LayerChart:
    """Counts by name as lying bars; those in `answered` filled with ink, the others left empty."""
    if not tallies:
        return nothing_to_draw("Nothing to count.", is_narrow)
    layout = RowLayout(
        tuple(Label(tally.name) for tally in tallies),
        is_narrow,
        LABEL_WIDTH,
        margin=60,
        top=8,
        is_dense=True,
    )
    board = layout.board(0, max(tally.rows for tally in tallies), title, tick_step=1)
    pairs = list(zip(tallies, layout.lines, strict=True))
    lying = [
        {"y": y, "from": 0, "to": tally.rows, "pencil": INK, "fill": INK if tally.name in answered else None}
        for tally, y in pairs
    ]
    numbers = [{"at": tally.rows, **row(y, count(tally.rows))} for tally, y in pairs]
    return board.chart([*bars(board, lying, 11), *words_on(board, numbers, dx=8), *layout.words(board)])
