"""Sills and heads: heights along a line with the level error, bow and range that were drawn."""

import numpy as np
import polars as pl

from pipeline.demo.arrays import Floats
from pipeline.demo.part import Part, block, signs


def sill_blocks(part: Part, wanted: tuple[str, ...], rng: np.random.Generator) -> list[pl.DataFrame]:
    """Readings along the sill and the head, without error."""
    makers = {
        "sill_height": _sill_heights,
        "sill_line": _sill_line,
        "sill_tilt": _sill_tilt,
        "clear_height": _clear_heights,
    }
    return [maker(part, rng) for measure, maker in makers.items() if measure in wanted]


def _stations(part: Part, at_least: int) -> tuple[Floats, Floats]:
    """Places from -1 to 1, the ends and every joint, and a bow of largest size 1 that no straight line can take up.

    Shapes (doors, most places), NaN beyond a door's count. The bow is the parabola less its own line of best fit.
    """
    last = np.maximum(part.leaves, at_least - 1)[:, None]
    ordinal = np.arange(int(last.max()) + 1)
    place = np.where(ordinal <= last, 2.0 * ordinal / last - 1.0, np.nan)
    mean_square = (last + 2.0) / (3.0 * last)
    return place, (place**2 - mean_square) / (1.0 - mean_square)


def _along(part: Part, place: Floats) -> Floats:
    return np.round((place + 1.0) / 2.0 * part.width[:, None])


def _sill_heights(part: Part, rng: np.random.Generator) -> pl.DataFrame:
    place, bow = _stations(part, at_least=5)
    level = part.true["sill_level_error"] * signs(part, rng) / 2
    datum = rng.normal(1000.0, 60.0, len(part.number))
    height = datum[:, None] + level[:, None] * place + (part.true["sill_bow"] * signs(part, rng))[:, None] * bow
    return block(part, "sill_height", height, "sill", position=_along(part, place))


def _sill_line(part: Part, rng: np.random.Generator) -> pl.DataFrame:
    place, bow = _stations(part, at_least=5)
    off = rng.normal(20.0, 3.0, len(part.number))[:, None] + rng.normal(0.0, 1.0, len(part.number))[:, None] * place
    line = off + (part.true["sill_line_bow"] * signs(part, rng))[:, None] * bow
    return block(part, "sill_line", line, "sill", position=_along(part, place))


def _sill_tilt(part: Part, rng: np.random.Generator) -> pl.DataFrame:
    inward = part.true["sill_tilt_in"]
    outward = rng.gamma(4.0, 0.4, len(part.number)) + 0.3
    fall = np.where(inward > 0, -inward, outward)[:, None] * np.ones(3)
    return block(part, "sill_tilt", fall, "sill", position=part.width[:, None] * np.array([0.0, 0.5, 1.0]))


def _clear_heights(part: Part, rng: np.random.Generator) -> pl.DataFrame:
    place, bow = _stations(part, at_least=5)
    bowed = (part.true["head_bow"] * signs(part, rng))[:, None] * bow
    fall = fall_for_range(place, bowed, part.true["head_parallel_error"])[:, None] * signs(part, rng)[:, None]
    clear = part.height[:, None] - 45.0 + fall * place + bowed
    return block(part, "clear_height", clear, "head", position=_along(part, place))


def fall_for_range(place: Floats, bowed: Floats, wanted: Floats) -> Floats:
    """The slope, mm for half the width, at which line and bow together range over `wanted` mm.

    place, bowed  shape (doors, places); wanted (doors,), never less than the bow's own range
    Source: the range is convex in the slope, so halving finds the one slope above zero.
    """
    low, high = np.zeros(len(wanted)), wanted.copy()
    for _ in range(40):
        middle = (low + high) / 2
        line = middle[:, None] * place + bowed
        is_short = np.nanmax(line, axis=1) - np.nanmin(line, axis=1) < wanted
        low, high = np.where(is_short, middle, low), np.where(is_short, high, middle)
    return high
