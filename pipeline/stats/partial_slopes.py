"""How much of one variable goes with each of others, all others held still, by least squares within groups.

Source: Weisberg (2014), Applied Linear Regression, 4th ed., chapters 2 and 3 (standard errors; the partial correlation
t^2 / (t^2 + d.f.)).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.stats.intervals import Floats

RIDGE = 1e-6  # of each column's square: columns that repeat others share their slope


@dataclass(frozen=True)
class PartialSlopes:
    """(p,) each: units of the variable for one of each other, standard error, part of the variance that it explains."""

    slopes: Floats
    errors: Floats
    explained: Floats


def partial_slopes(outcome: Floats, others: Floats, groups: NDArray[np.int64]) -> PartialSlopes | None:
    """Of outcome (n,) on others (n, p), nothing missing, within groups (n,); None with too few rows to say.

    A column that does not vary within groups has slope 0 and explains nothing.
    """
    freedom = len(outcome) - len(np.unique(groups)) - others.shape[1]
    if freedom < 1:
        return None
    matrix, y = within_groups(others, groups), within_groups(outcome[:, None], groups)[:, 0]
    scale = np.sqrt((matrix**2).mean(axis=0))
    is_flat = scale <= 1e-9 * np.maximum(np.abs(others).max(axis=0, initial=0.0), 1.0)
    matrix = np.where(is_flat, 0.0, matrix / np.where(is_flat, 1.0, scale))
    inverse = np.linalg.inv(matrix.T @ matrix + RIDGE * len(y) * np.eye(matrix.shape[1]))
    slopes = inverse @ (matrix.T @ y)
    rest = y - matrix @ slopes
    errors = np.sqrt(np.diag(inverse) * float(rest @ rest) / freedom)
    squared = np.divide(slopes, errors, out=np.zeros_like(slopes), where=errors > 0) ** 2
    scale = np.where(is_flat, 1.0, scale)
    return PartialSlopes(slopes / scale, errors / scale, np.where(is_flat, 0.0, squared / (squared + freedom)))


def within_groups(matrix: Floats, groups: NDArray[np.int64]) -> Floats:
    """(n, p) less the means, over what is there, of the groups (n,), numbered from 0; 0 where it is nan."""
    is_seen = np.isfinite(matrix)
    centred = np.where(is_seen, matrix, 0.0)
    for column, seen in zip(centred.T, is_seen.T, strict=True):
        means = np.bincount(groups, column) / np.maximum(np.bincount(groups, seen), 1)
        column -= means[groups]
    centred[~is_seen] = 0.0
    return centred
