"""The slope of later events on what was foretold: a case solved by hand, simulated truth, and nothing to tell by."""

import numpy as np
import pytest
import statsmodels.api as sm

from pipeline.stats.calibration import USUAL, Later, Slope, calibration_slope, trusted_slope


def test_two_groups_give_the_log_of_their_rate_ratio():
    # two groups a log ratio of 1 apart by prediction: the slope is ln(30 / 10), its variance 1 / 30 + 1 / 10
    found = calibration_slope([Later(np.array([0.0, 1.0]), np.array([100.0, 100.0]), np.array([10.0, 30.0]))])
    assert found.slope == pytest.approx(np.log(3), abs=1e-6)
    assert found.error == pytest.approx(np.sqrt(1 / 30 + 1 / 10), rel=1e-6)
    assert found.events == 40


def test_slope_and_error_are_those_of_a_poisson_regression_with_a_level_for_each_kind():
    rng = np.random.default_rng(5)
    kinds = []
    for level in (0.1, 0.6):
        score, exposure = rng.normal(size=400), rng.uniform(0.2, 1.0, 400)
        kinds.append(Later(score, exposure, rng.poisson(exposure * level * np.exp(0.8 * score)).astype(float)))
    score, exposure, events = (
        np.concatenate([getattr(k, name) for k in kinds]) for name in ("score", "exposure", "events")
    )
    design = np.column_stack([score, np.repeat(np.eye(2), 400, axis=0)])
    law = sm.GLM(events, design, sm.families.Poisson(), offset=np.log(exposure)).fit()
    found = calibration_slope(kinds)
    assert found.slope == pytest.approx(law.params[0], rel=1e-6)
    assert found.error >= law.bse[0] * (1 - 1e-6)  # or larger, for what comes together on a row
    assert found.error == pytest.approx(law.bse[0], rel=0.15)


@pytest.mark.parametrize("truth", [0.5, 1.0])
def test_finds_the_slope_whatever_the_level_of_each_kind(truth):
    rng = np.random.default_rng(81)
    kinds = []
    for level in (0.02, 0.2):
        score, exposure = rng.normal(size=20000), rng.uniform(0.2, 1.0, 20000)
        kinds.append(Later(score, exposure, rng.poisson(exposure * level * np.exp(truth * score)).astype(float)))
    found = calibration_slope(kinds)
    assert abs(found.slope - truth) < 4 * found.error < 0.15


def test_events_that_come_together_on_one_row_tell_no_more_than_one():
    # the same rows with the same events in two kinds: twice the events, no more evidence
    rng = np.random.default_rng(4)
    score, exposure = rng.normal(size=4000), np.ones(4000)
    kind = Later(score, exposure, rng.poisson(0.05 * np.exp(score)).astype(float))
    once, twice = calibration_slope([kind]), calibration_slope([kind, kind])
    assert twice.slope == pytest.approx(once.slope, abs=1e-6)
    assert twice.error == pytest.approx(once.error, rel=0.1)


def test_nothing_to_tell_by_is_none():
    some = np.ones(3)
    assert calibration_slope([]) is None
    assert calibration_slope([Later(some, some, some)]) is None
    assert calibration_slope([Later(np.arange(3.0), some, np.zeros(3))]) is None


def test_what_is_trusted_of_a_slope_is_its_posterior_mean():
    """Against the integral over a grid."""
    grid = np.linspace(-2, 4, 60_001)
    for seen in (Slope(0.45, 0.19, 40), Slope(0.93, 0.08, 200), Slope(1.3, 0.1, 200)):
        prior = sum(w / s * np.exp(-((grid - m) ** 2) / (2 * s**2)) for w, m, s in USUAL)
        weight = prior * np.exp(-((grid - seen.slope) ** 2) / (2 * seen.error**2))
        mean = float(grid @ weight / weight.sum())
        deviation = float(np.sqrt((grid - mean) ** 2 @ weight / weight.sum()))
        assert trusted_slope(seen) == pytest.approx((mean, deviation), rel=1e-5)


def test_an_unlucky_slope_near_one_is_drawn_in_and_one_far_off_is_believed():
    assert trusted_slope(Slope(0.8, 0.1, 200))[0] > 0.84
    assert trusted_slope(Slope(0.3, 0.15, 200))[0] < 0.45
    assert trusted_slope(None)[0] == pytest.approx(0.9)
