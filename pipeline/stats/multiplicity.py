"""False findings among many comparisons."""

import numpy as np
from numpy.typing import ArrayLike

from pipeline.stats.intervals import Floats


def q_values(p_values: ArrayLike) -> Floats:
    """Benjamini-Hochberg adjusted p-values: rejecting q <= 0.05 keeps false findings at 5 % of findings, on average.

    p_values  shape (n,); nan (not tested) stays nan and is not counted
    Raises ValueError for a p-value outside 0..1.
    Source: Benjamini and Hochberg (1995), J. R. Stat. Soc. B 57, 289-300.

    >>> [round(float(q), 4) for q in q_values([0.01, 0.04, 0.5])]
    [0.03, 0.06, 0.5]
    """
    p = np.asarray(p_values, dtype=float)
    adjusted = np.full(p.shape, np.nan)
    tested = ~np.isnan(p)
    if not np.all((p[tested] >= 0) & (p[tested] <= 1)):
        raise ValueError("a p-value lies between 0 and 1")
    order = np.argsort(p[tested])[::-1]
    n = len(order)
    # from the largest down, so that no smaller p-value gets a larger q-value
    scaled = np.minimum.accumulate(p[tested][order] * n / np.arange(n, 0, -1))
    adjusted[np.flatnonzero(tested)[order]] = np.minimum(scaled, 1.0)
    return adjusted
