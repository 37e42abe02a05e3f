"""What tables of small dimension lines have in common: crews down, one scale in every cell, places in pixels."""

from collections.abc import Iterable
from typing import Any

import altair as alt

from pipeline.report.drawing.lettering import fitted, without_common_word
from pipeline.report.drawing.marks import OBLIQUE, Board, Layer, Layers, data
from pipeline.report.drawing.pencils import CHAIN, INK
from pipeline.report.numbers import natural


def foremost(crews: Iterable[tuple[str, bool, int]], most: int) -> list[str]:
    """The crews to draw: all, or where they are many those that stand apart and those with most doors; by name.

    crews  name, whether it stands apart, doors; of one crew as many as there are cells
    """
    found: dict[str, tuple[bool, int]] = {}
    for crew, is_apart, doors in crews:
        was_apart, before = found.get(crew, (False, 0))
        found[crew] = (was_apart or is_apart, max(before, doors))
    return sorted(sorted(found, key=lambda crew: found[crew], reverse=True)[:most], key=natural)


def crew_names(crews: list[str], room: float, is_narrow: bool) -> list[str]:
    """The names cut to the room; on a phone without the word that all begin with."""
    return [fitted(name, room) for name in (without_common_word(crews) if is_narrow else crews)]


def datum_lines(board: Board, rows: list[dict[str, float]]) -> Layers:
    """Chain lines that stand at `x` from `y` to `y2`."""
    base = Layer(data(rows)).mark_rule(strokeDash=CHAIN, color=INK)
    return [base.encode(x=board.across("x"), y=board.y(), y2=alt.Y2("y2"))]


def cell_lines(board: Board, rows: list[dict[str, Any]], end_size: int) -> Layers:
    """Intervals from `low` to `high` with their estimate `at`, in `pencil` and as heavy as `weight`.

    end_size  of their oblique ends, in square pixels
    """
    base = Layer(data(rows)).encode(y=board.y(), stroke=alt.Stroke("pencil", type="nominal", scale=None))
    weight = alt.StrokeWidth("weight", type="quantitative", scale=None)
    dot = base.mark_point(size=16).encode(fill=alt.Fill("pencil", type="nominal", scale=None))
    return [
        base.mark_rule().encode(x=board.across("low"), x2=alt.X2("high"), strokeWidth=weight),
        *(base.mark_point(shape=OBLIQUE, size=end_size).encode(x=board.across(end)) for end in ("low", "high")),
        dot.encode(x=board.across("at")),
    ]
