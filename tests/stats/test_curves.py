"""Fitted curves: their intervals, and where they cross a level."""

import numpy as np
import pytest
from scipy import stats

from pipeline.stats.curves import FittedCurve, crossing

AT = np.linspace(0, 5, 501)


def line(slope: float, error: float, group_error: float | None = None) -> FittedCurve:
    groups = None if group_error is None else np.array([[group_error**2]])
    return FittedCurve(AT[:, None], np.array([slope]), np.array([[error**2]]), groups)


def test_a_ratio_at_the_reference_is_one_without_doubt() -> None:
    curve = line(0.4, 0.1, 0.3)
    assert (curve.log_ratios[0], curve.low[0], curve.high[0]) == (0, 0, 0)


@pytest.mark.parametrize(("group_error", "expected"), [(None, 0.1), (0.05, 0.1), (0.3, np.sqrt(0.05))])
def test_the_variance_is_the_headlines(group_error, expected) -> None:
    assert line(0.4, 0.1, group_error).errors[-1] == pytest.approx(5 * expected)


def test_a_straight_line_crosses_where_fieller_says() -> None:
    # through the origin Fieller's interval (1954) is the level over the ends of the slope's interval
    found = crossing(AT, line(0.4, 0.08), np.log(1.5))
    level, z = np.log(1.5), 1.959964
    assert found.best == pytest.approx(level / 0.4, rel=1e-4)
    assert found.soonest == pytest.approx(level / (0.4 + z * 0.08), rel=1e-4)
    assert found.latest == pytest.approx(level / (0.4 - z * 0.08), rel=1e-4)


def test_what_is_not_reached_is_left_open() -> None:
    flat = crossing(AT, line(0.01, 0.001), np.log(1.5))
    assert (flat.soonest, flat.best, flat.latest) == (None, None, None)
    unsure = crossing(AT, line(0.2, 0.15), np.log(1.5))
    assert unsure.best == pytest.approx(np.log(1.5) / 0.2, rel=1e-4)
    assert unsure.latest is None


def test_a_curve_that_falls_again_does_not_bring_certainty_back() -> None:
    heights = np.array([0.0, 0.6, 0.6, 0.1, 0.7, 0.8])
    bumpy = FittedCurve(heights[:, None], np.ones(1), np.zeros((1, 1)), None)
    found = crossing(np.arange(6.0), bumpy, 0.5)
    assert found.best == pytest.approx(5 / 6)  # the first time
    assert found.latest == pytest.approx(3 + 4 / 6)  # after the last dip


def test_a_line_estimated_with_error_is_held_as_often_as_promised() -> None:
    rng = np.random.default_rng(2)
    truth, error = 0.35, 0.06
    held = 0
    for slope in rng.normal(truth, error, 2000):
        found = crossing(AT, line(slope, error), np.log(1.5))
        where = np.log(1.5) / truth
        held += (found.soonest is None or found.soonest <= where) and (found.latest is None or where <= found.latest)
    assert stats.binomtest(held, 2000, 0.95).pvalue > 0.01


def test_draws_spread_as_the_errors_say() -> None:
    curve = line(0.4, 0.1, 0.3)
    drawn = curve.draws(20_000, np.random.default_rng(1))
    assert drawn.std(axis=0)[-1] == pytest.approx(curve.errors[-1], rel=0.03)
    assert drawn.mean(axis=0) == pytest.approx(curve.log_ratios, abs=0.05)
