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
MOST_ROWS = 20_000  # every so many of more are enough to place a fence
ROWS_AT_ONCE = 4096


def pulled_in(values: Floats, columns: Iterable[int]) -> dict[int, tuple[NDArray[np.int64], Floats]]:
    """Moves far out values of these columns of (n, D) to the fence, in place.

    Returns by column the rows, ascending, and what stood there.
    Values equal to the median are on neither side, so that few that differ from many alike are held to one another.
    """
    least, most = np.full(values.shape[1], -np.inf), np.full(values.shape[1], np.inf)
    sample = values[:: max(1, len(values) // MOST_ROWS)].T.copy()
    for column in columns:
        least[column], most[column] = _fences(sample[column])
    # block by block: a column by itself would go through all the memory of the matrix each time
    starts = range(0, len(values), ROWS_AT_ONCE)
    blocks = [values[start : start + ROWS_AT_ONCE] for start in starts]
    found = [
        np.argwhere((block < least) | (block > most)) + np.array([start, 0])
        for start, block in zip(starts, blocks, strict=True)
    ]
    far = np.concatenate(found) if found else np.empty((0, 2), dtype=np.int64)
    moved = {}
    for column in np.unique(far[:, 1]):
        rows = far[far[:, 1] == column, 0]
        moved[int(column)] = rows, values[rows, column]
        values[rows, column] = np.clip(values[rows, column], least[column], most[column])
    return moved


def _fences(values: Floats) -> tuple[float, float]:
    seen = values[np.isfinite(values)]
    middle = float(np.median(seen)) if len(seen) else 0.0
    return middle - TIMES * _outer(middle - seen), middle + TIMES * _outer(seen - middle)


def _outer(distances: Floats) -> float:
    """Where the outer twentieth of the distances above 0 begins; infinite where they are too few to say."""
    beyond = distances[distances > 0]
    return float(np.quantile(beyond, OUTER)) if len(beyond) >= LEAST_VALUES else np.inf
