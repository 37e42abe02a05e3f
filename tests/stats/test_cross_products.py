"""Weighted cross products against the plain product."""

import numpy as np
import pytest

from pipeline.stats.cross_products import cross_products


def test_blocks_and_groups_add_up_to_the_plain_product() -> None:
    rng = np.random.default_rng(1)
    groups = np.sort(rng.integers(0, 7, 5000))
    matrix, weights = rng.normal(size=(5000, 4)), rng.uniform(size=5000)
    sums = cross_products(matrix, weights, groups)
    assert sums.products == pytest.approx(matrix.T @ np.diag(weights) @ matrix)
    for group in range(7):
        rows = groups == group
        assert sums.by_group[group] == pytest.approx(weights[rows] @ matrix[rows])
        assert sums.weights[group] == pytest.approx(weights[rows].sum())


def test_within_leaves_out_what_differs_between_groups():
    rng = np.random.default_rng(3)
    groups, matrix = np.repeat([0, 2], [40, 25]), rng.normal(size=(65, 3))  # nothing of group 1
    apart = matrix - np.array([matrix[groups == group].mean(axis=0) for group in groups])
    shifted = matrix + 100.0 * groups[:, None]
    assert np.allclose(cross_products(shifted, np.ones(65), groups).within, apart.T @ apart, atol=1e-6)
