"""The test of a crew's record at the limits: more doors just inside one, fewer beyond it, than the others' work has.

How far a crew's deviations spread depends on how careful it is, and so does how many lie beyond a limit. The other
crews' deviations are therefore counted in multiples of each crew's own median: what is out then changes it little.
"""

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.record_tests import FEWEST_DOORS, Tested
from pipeline.model.records_compared import most_telling
from pipeline.stats.intervals import Floats
from pipeline.stats.one_against_others import outlier_p

# Common practice, no source.
DISPLACED = 0.15
INSIDE_FROM = 0.8  # of the limit, as limit_shapes counts
FINE, COARSE = 0.02, 0.2  # of the limit: steps under which values are as good as continuous, from which none is near
BINS_A_UNIT = 20  # of the logarithm, as limit_shapes counts


def inside_limits(shapes: pl.DataFrame) -> dict[str, Tested]:
    """Doors from just inside a limit outwards: the share that lies inside, beyond what the other crews' spread gives.

    shapes     the table limit_shapes
    statistic  that share more, of all deviations or of the one that stands out; p-value: Bonferroni's over them
    """
    crews = shapes["crew"].unique().sort()
    if crews.is_empty():
        return {}
    parts = shapes.sort("deviation", "crew", "bin").partition_by("deviation")
    surplus = np.stack([_surplus(part, crews) for part in parts])
    tests = [_tested(crews, *numbers) for numbers in (*surplus, surplus.sum(axis=0))]
    return most_telling(tests)


def _surplus(shapes: pl.DataFrame, crews: pl.Series) -> NDArray[np.float64]:
    """(3, crews) doors near or beyond the limit, how many more of them inside than expected, its variance.

    All three 0 where it cannot be tested.
    """
    number = dict(zip(crews, range(len(crews)), strict=True))
    row = shapes["crew"].replace_strict(number, return_dtype=pl.Int64).to_numpy()
    bins = shapes["bin"].to_numpy()
    counts = np.zeros((len(crews), int(bins.max()) + 1))
    np.add.at(counts, (row, bins), shapes["doors"].to_numpy())
    inside, beyond, middle = (np.zeros(len(crews)) for _ in range(3))
    np.add.at(inside, row, shapes["inside"].to_numpy())
    np.add.at(beyond, row, shapes["beyond"].to_numpy())
    middle[row] = shapes["middle"].to_numpy()
    near = inside + beyond
    others = counts.sum(axis=0) - counts
    step = float(shapes["step"][0] or 0.0)
    expected = np.array([_share_inside(*pair, step) for pair in zip(others, middle, strict=True)])
    is_tested = np.isfinite(expected) & (near > 0)
    share = np.where(is_tested, expected, 0.0)
    return np.stack([near, inside - near * share, near * share * (1 - share)]) * is_tested


def _share_inside(others: Floats, middle: float, step: float) -> float:
    """Of the others' doors that at this median would lie near or beyond the limit, those inside; nan: too few.

    step  what the values move by, as a share of the limit: one that is written as the limit lies within half a step of
          it, and counts as inside
    """
    if not 0 < middle < INSIDE_FROM or step > COARSE:
        return np.nan
    edges = np.arange(len(others) + 1) / BINS_A_UNIT
    above = np.concatenate([[0.0], np.cumsum(others[::-1])])[::-1]
    ends = (_half_a_step_on(at, step) for at in (INSIDE_FROM, 1.0))
    near, beyond = (float(np.interp(np.log(end / middle), edges, above)) for end in ends)
    return (near - beyond) / near if near >= FEWEST_DOORS else np.nan


def _half_a_step_on(at: float, step: float) -> float:
    """The middle between the last value up to `at` and the one after it."""
    return at if step < FINE else (np.floor(at / step + 1e-6) + 0.5) * step


def _tested(crews: pl.Series, near: Floats, more: Floats, variance: Floats) -> dict[str, Tested]:
    is_enough = (near >= FEWEST_DOORS / 3) & (variance > 0)
    safe = np.where(is_enough, near, 1.0)
    value = np.where(is_enough, more / safe, np.nan)
    p_values = outlier_p(value, np.where(is_enough, np.sqrt(variance) / safe, np.nan))
    return {
        str(crew): Tested(float(size), float(p), int(doors), bool(size >= DISPLACED))
        if np.isfinite(p)
        else Tested(None, None, int(doors))
        for crew, size, p, doors in zip(crews, value, p_values, near, strict=True)
    }
