"""Weighted sums of squares and products of a tall matrix, in all and by group."""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.stats.blas import one_blas_thread
from pipeline.stats.intervals import Floats

BLOCK_ROWS = 2048  # a block and its weighted copy stay in the processor's own memory


@dataclass(frozen=True)
class CrossProducts:
    """products (p, p) = X' diag(w) X; by_group (G, p) = weighted column sums of each group; weights (G,) of groups."""

    products: Floats
    by_group: Floats
    weights: Floats

    @property
    def within(self) -> Floats:
        """(p, p) products of the columns less their groups' means: what differs between groups is left out."""
        weights = np.where(self.weights > 0, self.weights, 1.0)[:, None]
        return np.asarray(self.products - (self.by_group / weights).T @ self.by_group)


def cross_products(matrix: Floats, weights: Floats, groups: NDArray[np.int64]) -> CrossProducts:
    """The sums for a matrix (n, p), one row or more, weights (n,) and group numbers (n,) 0..G-1 in ascending order."""
    n, p = matrix.shape
    products, by_group = np.zeros((p, p)), np.zeros((int(groups[-1]) + 1, p))
    with one_blas_thread():
        for begin in range(0, n, BLOCK_ROWS):
            x, w, g = (part[begin : begin + BLOCK_ROWS] for part in (matrix, weights, groups))
            weighted = x * w[:, None]
            products += weighted.T @ x
            for first, last in itertools.pairwise([0, *(np.flatnonzero(np.diff(g)) + 1), len(g)]):
                by_group[g[first]] += w[first:last] @ x[first:last]
    return CrossProducts(products, by_group, np.bincount(groups, weights).astype(float))
