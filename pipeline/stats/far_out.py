"""Values so far beyond all others that they are misread, or of a case like no other: they may not settle a slope.

A fence stands three times as far from the median as the outer twentieth of the values on that side begins: of normal
values none is beyond it, of exponential ones one in 15,000, of log-normal ones with sd 1 one in 600. A reading that is
ten times too large is.

Source: Tukey (1977), Exploratory Data Analysis, section 2D (fences, far out values), here with outer quantiles in
place of hinges, since deviations are skewed; Huber and Ronchetti (2009), Robust Statistics, 2nd ed., section 1.2.
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from pipeline.stats.intervals import Floats

OUTER, TIMES = 0.95, 3.0  # of the values on one side of the median
LEAST_VALUES = 20  # on that side: of fewer the outer twentieth is not one value


def pulled_in(values: Floats, columns: Iterable[int]) -> dict[int, tuple[NDArray[np.int64], Floats]]:
    """Moves far out values of these columns of (n, D) to the fence, in place.

    Returns by column the rows, ascending, and what stood there.

    Values equal to the median are on neither side, so that few that differ from many alike are held to one another.
    """
    moved = {}
    for column in columns:
        own = values[:, column]
        seen = own[np.isfinite(own)]
        middle = float(np.median(seen)) if len(seen) else 0.0
        most = middle + TIMES * _outer(seen - middle)
        least = middle - TIMES * _outer(middle - seen)
        rows = np.flatnonzero((own < least) | (own > most))
        if len(rows):
            moved[column] = rows, own[rows].copy()
            own[rows] = np.clip(own[rows], least, most)
    return moved


def _outer(distances: Floats) -> float:
    """Where the outer twentieth of the distances above 0 begins; infinite where they are too few to say."""
    beyond = distances[distances > 0]
    return float(np.quantile(beyond, OUTER)) if len(beyond) >= LEAST_VALUES else np.inf
