"""One group against the others: uniform under no difference, low for the one that stands out."""

import numpy as np
import pytest
from scipy import stats

from pipeline.stats.one_against_others import FEWEST, outlier_p


def test_it_is_the_prediction_interval_of_a_new_value_where_groups_have_no_error() -> None:
    values = np.array([0.3, 0.1, 0.4, 0.2, 0.25, 0.9])
    others = values[:5]
    error = others.std(ddof=1) * np.sqrt(1 + 1 / 5)
    expected = stats.t.sf((0.9 - others.mean()) / error, 4)
    assert outlier_p(values, np.zeros(6))[5] == pytest.approx(expected)


@pytest.mark.parametrize("between", [0.0, 2.0])
def test_honest_groups_raise_no_more_alarms_than_asked_for(between: float) -> None:
    rng = np.random.default_rng(4)
    errors = np.full(12, 1.0)
    p = [outlier_p(rng.normal(0, np.hypot(1, between), 12), errors)[0] for _ in range(2000)]
    assert np.mean(np.array(p) <= 0.05) == pytest.approx(0.05, abs=0.02)


def test_too_few_groups_and_unknown_ones_are_not_tested() -> None:
    assert np.isnan(outlier_p(np.arange(FEWEST - 1.0), np.ones(FEWEST - 1))).all()
    with_gap = outlier_p(np.array([np.nan, 1, 2, 3, 4, 5.0]), np.ones(6))
    assert np.isnan(with_gap[0])
    assert np.isfinite(with_gap[1:]).all()


def test_a_large_error_of_its_own_does_not_hide_a_group_behind_few_others() -> None:
    """Where the others hardly differ, a group three of its own errors out is judged by the normal distribution."""
    values, errors = np.array([3.0, 0.0, 0.01, -0.01, 0.0, 0.005]), np.array([1.0, 0.01, 0.01, 0.01, 0.01, 0.01])
    assert outlier_p(values, errors)[0] == pytest.approx(stats.norm.sf(3.0), rel=0.05)


def test_no_degrees_of_freedom_are_gained_where_groups_differ() -> None:
    values, errors = np.array([9.0, 0.0, 2.0, -2.0, 1.0, -1.0]), np.full(6, 1e-6)
    others = values[1:]
    expected = stats.t.sf((9.0 - others.mean()) / (others.std(ddof=1) * np.sqrt(1 + 1 / 5)), 4)
    assert outlier_p(values, errors)[0] == pytest.approx(expected, rel=1e-4)
