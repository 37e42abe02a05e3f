"""What a count of callbacks costs: the moments of a compound sum."""

import numpy as np
import pytest

from pipeline.stats.cost_draws import draw_costs

KNOWN = np.random.default_rng(1).lognormal(4.5, 0.8, 400)


def drawn(counts: np.ndarray, known: np.ndarray = KNOWN) -> np.ndarray:
    return draw_costs(known, counts, np.random.default_rng(2))


def test_mean_and_variance_are_those_of_a_sum_of_so_many_costs():
    cost = drawn(np.full((20_000, 1), 50))[:, 0]
    own, mean_error = 50 * KNOWN.var(), 50**2 * KNOWN.var() / len(KNOWN)  # of the sum, and of the bootstrapped mean
    assert cost.mean() == pytest.approx(50 * KNOWN.mean(), rel=0.01)
    assert cost.var() == pytest.approx(own + mean_error, rel=0.05)


def test_no_callback_costs_nothing_and_equal_costs_leave_no_doubt():
    assert drawn(np.array([[0, 3]]), np.array([95.0, 95.0])).tolist() == [[0.0, 285.0]]
    assert drawn(np.array([[4]]), np.array([0.0])).tolist() == [[0.0]]


def test_very_many_known_costs_are_grouped_without_moving_the_mean():
    many = np.random.default_rng(3).lognormal(4.5, 0.8, 50_000)
    cost = drawn(np.full((4000, 1), 100), many)[:, 0]
    assert cost.mean() == pytest.approx(100 * many.mean(), rel=0.01)
