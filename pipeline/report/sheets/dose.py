"""The part of the causes sheet about where risk begins: a curve a strong cause, and the advice on each limit."""

from collections.abc import Sequence

import polars as pl

from pipeline.report.charts.dose import dose_chart
from pipeline.report.downloads import download
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import as_name, count
from pipeline.report.reading import Results
from pipeline.report.rows.dose_rows import CurvePoint, LimitAdvice
from pipeline.report.rows.table_rows import Effect
from pipeline.report.sheet import Block, Figure, Passage, Table
from pipeline.report.words import dose as words
from pipeline.report.words.causes import claimed
from pipeline.report.words.common import pair

MOST_CURVES = 6
CURVES_PRINTED = 3
ADVICE_PRINTED = 8
Pair = tuple[str, str]
ADVICE_COLUMNS = ("deviation and fault", "limit now", "1.5 times the risk", "cheapest limit", "advice")
CURVE_COLUMNS = ("deviation", "fault", "at", "times as often (95 %)", "doors")


def dose_blocks(
    results: Results, effects: list[Effect], advice: dict[Pair, LimitAdvice], currency: str | None
) -> list[Block]:
    """The section; one sentence where no cause has a curve yet. advice: by fault and deviation."""
    curves = _by_pair(results.curve_points())
    strong = [effect for effect in claimed(effects, "strong") if (effect.fault, effect.deviation) in curves]
    drawn = sorted(strong[:MOST_CURVES], key=lambda effect: advice[effect.fault, effect.deviation].advice == "keep")
    rows = sorted(advice.values(), key=lambda row: row.advice == "keep")  # a limit to move is on paper
    told = words.on_paper(len(drawn), CURVES_PRINTED)
    how = tuple(words.how_to_read(len(strong), len(drawn)))
    passage = Passage("dose", words.section_says(rows, len(drawn)), how, told)
    figures = [_figure(number, effect, curves, advice) for number, effect in enumerate(drawn, 1)]
    tables = [_advice_table(rows, currency, results.table("limit_advice"))] if rows else []
    behind = [_curve_table(drawn, curves, advice, results.table("dose_response"))] if drawn else []
    return [passage, *figures, *tables, *behind]


def _by_pair(points: list[CurvePoint]) -> dict[Pair, list[CurvePoint]]:
    curves: dict[Pair, list[CurvePoint]] = {}
    for point in points:
        curves.setdefault((point.fault, point.deviation), []).append(point)
    return curves


def _figure(
    number: int, effect: Effect, curves: dict[Pair, list[CurvePoint]], advice: dict[Pair, LimitAdvice]
) -> Figure:
    pair = effect.fault, effect.deviation
    points, row = curves[pair], advice[pair]
    says = words.curve_says(row)
    title = f"Risk of {as_name(row.fault_words)} over {as_name(row.words)}"
    key = f"curve-{number}"
    drawing = draw(lambda is_narrow: dose_chart(points, row, is_narrow), key, title, says)
    how, is_printed = words.curve_how(effect, points, row), number <= CURVES_PRINTED
    return Figure(key, says, how, drawing, words.curve_do(row), is_printed)


def _advice_table(advice: list[LimitAdvice], currency: str | None, frame: pl.DataFrame) -> Table:
    return Table(
        "advice",
        words.advice_says(advice),
        ADVICE_COLUMNS,
        tuple(_advice_cells(row) for row in advice),
        words.advice_how(advice, currency),
        frozenset({1}),
        download("limit_advice", frame),
        is_open=True,
        printed=max(sum(row.advice != "keep" for row in advice), ADVICE_PRINTED),
    )


def _advice_cells(row: LimitAdvice) -> tuple[str, ...]:
    return (
        pair(row),
        words.limit_now(row),
        words.risk_words(row),
        words.cost_words(row),
        f"{row.advice}: {as_name(row.note)}",
    )


def _curve_table(
    drawn: Sequence[Effect],
    curves: dict[Pair, list[CurvePoint]],
    advice: dict[Pair, LimitAdvice],
    frame: pl.DataFrame,
) -> Table:
    rows = [
        _curve_cells(point, advice[effect.fault, effect.deviation])
        for effect in drawn
        for point in curves[effect.fault, effect.deviation]
    ]
    how = (
        "Ratios are against the value with ratio 1. The file also has the pairs with a hint or that the trade expects."
    )
    says = f"The curves in numbers: {count(len(rows))} values"
    return Table("curves", says, CURVE_COLUMNS, tuple(rows), how, frozenset({2, 4}), download("dose_response", frame))


def _curve_cells(point: CurvePoint, row: LimitAdvice) -> tuple[str, ...]:
    is_reference = point.value == point.reference
    return (
        as_name(row.words),
        as_name(row.fault_words),
        words.at_value(point.value, row),
        "1" if is_reference else point.ratio.words(unit=" times"),
        count(point.doors),
    )
