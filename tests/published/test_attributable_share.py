"""The attributable share against a printed one and against its own algebra."""

import numpy as np
import pytest

from pipeline.stats.attribution import attributable_share, share_draws


def test_fraction_from_a_two_by_two_table() -> None:
    # Willeberg (1977): exposed 13 / 2176, unexposed 5 / 3354; population fraction 54.20 % as printed by the epiR
    # documentation; data from memory.
    ratio = (13 / 2176) / (5 / 3354)
    exposed = np.concatenate([np.ones(2176), np.zeros(3354)])
    expected = np.where(exposed == 1, 13 / 2176, 5 / 3354)
    assert attributable_share(exposed, expected, float(np.log(ratio))) == pytest.approx(0.54201, abs=5e-6)
    # of the exposed alone: 1 - 1 / 4.0075
    assert ratio == pytest.approx(4.0075, abs=5e-5)
    alone = exposed == 1
    assert attributable_share(exposed[alone], expected[alone], float(np.log(ratio))) == pytest.approx(0.75047, abs=5e-6)


def test_draws_centre_on_the_estimate_and_their_spread_is_that_of_a_bootstrap() -> None:
    rng = np.random.default_rng(3)
    n = 3000
    excess = np.maximum(rng.gamma(2, 1, n) - 2, 0)
    expected = 0.1 * np.exp(0.5 * excess)
    groups = np.zeros(n, dtype=int)
    point = attributable_share(excess, expected, 0.5)
    draws = share_draws(excess, expected, groups, np.full(4000, 0.5), rng)
    resampled = []
    for _ in range(1000):
        rows = rng.integers(0, n, n)
        resampled.append(attributable_share(excess[rows], expected[rows], 0.5))
    assert draws.mean() == pytest.approx(point, abs=2e-3)
    assert draws.std() == pytest.approx(np.std(resampled), rel=0.1)


def test_many_crews_are_resampled_whole() -> None:
    rng = np.random.default_rng(4)
    groups = np.repeat(np.arange(24), 100)
    excess = np.where(groups < 12, 2.0, 0.0) * rng.random(2400)
    draws = share_draws(excess, np.exp(0.4 * excess), groups, np.full(2000, 0.4), rng)
    doors = share_draws(excess, np.exp(0.4 * excess), np.zeros(2400, int), np.full(2000, 0.4), rng)
    assert draws.std() > 2 * doors.std()


def test_nothing_beyond_the_limit_spares_nothing() -> None:
    rng = np.random.default_rng(5)
    draws = share_draws(np.zeros(50), np.ones(50), np.zeros(50, int), rng.normal(1, 0.2, 100), rng)
    assert draws == pytest.approx(np.zeros(100))
