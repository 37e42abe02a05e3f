"""Natural cubic splines: a curve that bends at a few knots and is straight beyond the outer two.

Sources: Harrell (2015), Regression Modeling Strategies, 2nd edition, section 2.4.6 (knots at fixed quantiles; from
memory); Stone and Koo (1985), Proc. Stat. Comp. Section ASA, 45-48 (the restricted truncated-power basis).
"""

from dataclasses import dataclass

import numpy as np

from pipeline.stats.intervals import Floats

QUANTILES = {3: (0.10, 0.50, 0.90), 4: (0.05, 0.35, 0.65, 0.95), 5: (0.05, 0.275, 0.50, 0.725, 0.95)}
OF_THE_OTHERS = (0.5, 0.95)
LEAST_KNOTS = 3  # with two the natural spline is a straight line
HARDLY_BENT = 1e-6  # a bend that leaves less than this of its own spread is a straight line


@dataclass(frozen=True)
class Bends:
    """The columns that bend a straight line, each without a straight part and of spread 1 over the values behind it.

    knots  (k,) ascending, none where the line stays straight; offsets, slopes, spreads (k - 2,)
    """

    knots: Floats
    offsets: Floats
    slopes: Floats
    spreads: Floats

    @property
    def n_columns(self) -> int:
        """How many columns there are; 0: a straight line."""
        return len(self.spreads)

    def columns(self, values: Floats) -> Floats:
        """(n, k - 2) the bends at n values."""
        if not self.n_columns:
            return np.empty((len(values), 0))
        raw = restricted_cubic(values, self.knots)
        return (raw - self.offsets - values[:, None] * self.slopes) / self.spreads


def harrell_knots(values: Floats, n_knots: int) -> Floats:
    """(k,) knots at Harrell's quantiles; fewer than asked for where quantiles fall together.

    Where so many things share one value that fewer than three are left, that value and the median and the 95th
    percentile of the others stand in.
    n_knots  3, 4 or 5
    """
    knots = np.unique(np.quantile(values, QUANTILES[n_knots]))
    if len(knots) >= LEAST_KNOTS:
        return knots
    distinct, counts = np.unique(values, return_counts=True)
    shared = distinct[np.argmax(counts)]
    others = values[values != shared]
    return np.unique([shared, *np.quantile(others, OF_THE_OTHERS)]) if len(others) else knots


def restricted_cubic(values: Floats, knots: Floats) -> Floats:
    """(n, k - 2) truncated-power columns that together with the value itself span the natural cubic splines.

    Divided by the square of the distance of the outer knots, so that they have the unit of the value.
    Raises ValueError for fewer than three knots.
    """
    if len(knots) < LEAST_KNOTS:
        raise ValueError("a natural cubic spline bends from three knots on")
    cubes = np.maximum(values[:, None] - knots[None, :], 0.0) ** 3
    last, gap = knots[-1], knots[-1] - knots[-2]
    inner = knots[:-2]
    straightened = cubes[:, :-2] - cubes[:, [-2]] * (last - inner) / gap + cubes[:, [-1]] * (knots[-2] - inner) / gap
    return np.asarray(straightened / (last - knots[0]) ** 2)


def bends_over(values: Floats, n_knots: int) -> Bends:
    """The bends for these values: with as many knots as asked for, or as their distinct quantiles allow."""
    knots = harrell_knots(values, n_knots)
    none = Bends(np.empty(0), np.empty(0), np.empty(0), np.empty(0))
    if len(knots) < LEAST_KNOTS:
        return none
    raw = restricted_cubic(values, knots)
    middle = values.mean()
    slopes = (values - middle) @ raw / ((values - middle) ** 2).sum()
    offsets = raw.mean(axis=0) - slopes * middle
    left = raw - offsets - values[:, None] * slopes
    spreads = left.std(axis=0)
    if (spreads < HARDLY_BENT * raw.std(axis=0)).any():
        return none
    return Bends(knots, offsets, slopes, spreads)
