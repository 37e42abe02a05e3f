"""Regression calibration against a slope that is known."""

import numpy as np
import pytest

from pipeline.stats.blur import calibrated, reliability


def test_a_blurred_slope_comes_back_nearer_to_the_truth():
    rng, n, slope = np.random.default_rng(4), 40_000, 0.5
    truth = rng.normal(size=n)
    seen = truth + rng.normal(scale=0.6, size=n)
    events = rng.poisson(0.1 * np.exp(slope * truth))
    # Poisson slope by Newton, written out here
    x, beta = np.column_stack([np.ones(n), seen]), np.array([-2.3, 0.0])
    for _ in range(20):
        mean = np.exp(x @ beta)
        curvature = x.T @ (x * mean[:, None])
        beta = beta + np.linalg.solve(curvature, x.T @ (events - mean))
    share = reliability(0.36, float(seen.var()))
    assert share == pytest.approx(1 / 1.36, abs=0.01)
    error = float(np.sqrt(np.linalg.inv(curvature)[1, 1]))
    middle, width = calibrated(float(beta[1]), error, share, n)
    assert abs(beta[1] - slope) > 4 * error
    assert abs(middle - slope) < 2.5 * width
    assert width > error


def test_more_error_than_spread_is_no_reliability():
    assert reliability(2.0, 1.0) == 0.0
    assert calibrated(0.5, 0.1, 1.0, 100) == (0.5, 0.1)
