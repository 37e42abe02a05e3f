"""Drawings of the causes sheet: what could be avoided, how large effects are, the limits."""

import math
from typing import Any

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
from pipeline.report.drawing.lettering import fitted, width
from pipeline.report.drawing.marks import Dimension, bars, chain_line, dimension_lines, row, words_at, words_on
from pipeline.report.drawing.pencils import BLUE, GREY, HATCH_OUT, HATCH_UNDECIDED, INK, OCHRE, RED
from pipeline.report.numbers import PER_CENT, Interval, count, counted, one_precision
from pipeline.report.rows.method_rows import OtherWay
from pipeline.report.rows.table_rows import LEAST_DOORS, Effect, LimitCount

PENCIL = {"strong": INK, "suggestive": BLUE}
SHAPE = {"strong": "circle", "suggestive": "diamond"}
SPARED = "callbacks spared a year, every door at its limit"


def avoidable_chart(effects: list[Effect], is_narrow: bool) -> alt.LayerChart:
    """Callbacks a year that each cause accounts for; a row a pair, those without an interval left out."""
    drawn = [(effect, effect.avoidable) for effect in effects if effect.avoidable]
    if not drawn:
        return nothing_to_draw("No cause has an interval yet.", is_narrow)
    layout = RowLayout(tuple(_label(effect) for effect, _ in drawn), is_narrow)
    board = layout.board(*linear_reach([interval for _, interval in drawn]), SPARED)
    lines = effect_lines(drawn, layout.lines)
    return board.chart([*chain_line(board, 0, "none"), *dimension_lines(board, lines), *layout.words(board)])


def ratio_chart(effects: list[Effect], is_narrow: bool) -> alt.LayerChart:
    """How many times as often the fault comes back; a row a pair."""
    drawn = [(effect, effect.ratio) for effect in effects if effect.ratio]
    if not drawn:
        return nothing_to_draw("No pair has an interval yet.", is_narrow)
    layout = RowLayout(tuple(_label(effect) for effect, _ in drawn), is_narrow)
    low, high = log_reach([interval for _, interval in drawn])
    title = "times as often, worse doors against better ones"
    board = layout.board(low, high, title, is_log=True, ticks=doublings(low, high))
    lines = effect_lines(drawn, layout.lines)
    return board.chart([*chain_line(board, 1, "no effect"), *dimension_lines(board, lines), *layout.words(board)])


def pencil_of(effect: Effect) -> str:
    """Ink for strong, blue for a hint, grey for what is not claimed."""
    return PENCIL.get(effect.evidence, GREY) if effect.is_claimed else GREY


def _label(effect: Effect) -> Label:
    return pair_label(effect, pencil_of(effect))


def pair_label(row: Effect | OtherWay, pencil: str) -> Label:
    """Deviation and fault, the first callbacks and the doors behind them."""
    counts = f"{count(row.events)} on {counted(row.doors, 'door')}"
    return Label(row.words, "", f"→ {fitted(row.fault_words, 150)} · {counts}", pencil)


def effect_lines(drawn: list[tuple[Effect, Interval]], ys: list[float]) -> list[Dimension]:
    """The dimension lines of effects: dot, diamond or ring by what is claimed; all numbers to one precision."""
    digits = one_precision([interval for _, interval in drawn])
    return [_line(*pair, y, digits) for pair, y in zip(drawn, ys, strict=True)]


def _line(effect: Effect, interval: Interval, y: float, digits: int) -> Dimension:
    return finding_line(interval, y, digits, effect.evidence if effect.is_claimed else "none")


def finding_line(interval: Interval, y: float, digits: int, evidence: str) -> Dimension:
    """A dot in ink for strong evidence, a diamond in blue for a hint, else a grey ring."""
    pencil, shape = PENCIL.get(evidence, GREY), SHAPE.get(evidence, "circle")
    return interval_line(interval, y, digits, pencil, shape, evidence == "strong")


def limits_chart(limits: list[LimitCount], is_narrow: bool) -> alt.LayerChart:
    """Of the doors with readings: within (empty), undecided (hatched one way), out (hatched the other)."""
    if not limits:
        return nothing_to_draw("No door has a reading that a limit could be held against.", is_narrow)
    beside = 16 + math.ceil(max(width(_out_words(limit, 0)["words"]) for limit in limits))
    layout = RowLayout(tuple(_limit_label(limit) for limit in limits), is_narrow, 330, margin=beside, is_dense=True)
    board = layout.board(0, 100, "% of the doors with readings")
    pairs = list(zip(limits, layout.lines, strict=True))
    return board.chart(
        [
            *bars(board, [part for limit, y in pairs for part in _parts(limit, y)], 12),
            *words_on(board, [_out_words(limit, y) for limit, y in pairs], dx=8),
            *words_at(board, [row(12, "within")], board.left),
            *words_at(board, [row(12, "cannot tell", OCHRE)], (board.left + board.right) / 2, "center"),
            *words_at(board, [row(12, "out", RED)], board.right, "right"),
            *layout.words(board),
        ]
    )


def _limit_label(limit: LimitCount) -> Label:
    is_other = limit.is_for_comparison
    name = f"or by {limit.limit}" if is_other else limit.limit
    return Label(name, f" · {counted(limit.decided, 'door')}", "", GREY if is_other else INK)


def _out_words(limit: LimitCount, y: float) -> dict[str, Any]:
    is_few = limit.decided < LEAST_DOORS
    words = "too few" if is_few or not limit.share else limit.share.words(100, PER_CENT)
    return {"at": 100, **row(y, words, RED if limit.out and not is_few else GREY)}


def _parts(limit: LimitCount, y: float) -> list[dict[str, Any]]:
    within = 100 * limit.within / limit.decided
    decided_or_not = within + 100 * limit.undecided / limit.decided
    parts = (
        (0.0, within, INK, None),
        (within, decided_or_not, OCHRE, HATCH_UNDECIDED),
        (decided_or_not, 100.0, RED, HATCH_OUT),
    )
    return [
        {"y": y, "from": start, "to": end, "pencil": pencil, "fill": fill}
        for start, end, pencil, fill in parts
        if end - start > 1e-9
    ]
