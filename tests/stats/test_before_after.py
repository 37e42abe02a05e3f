"""What changed on a day: found with the right interval, not invented where nothing changed."""

import numpy as np
import pytest
import statsmodels.api as sm

from pipeline.stats.before_after import (
    AFTER,
    BEFORE,
    JUST_BEFORE,
    Units,
    change_of,
    placebo_scores,
    pooled_change,
    usual_means,
)
from pipeline.stats.dispersion import dispersion_of

GROUPS, TIMES, DAY = 8, 10, 5


def drawn(rng: np.random.Generator, ratio: float, units: int = 1600, trend: float = 0.1) -> tuple[Units, np.ndarray]:
    """Yes or no for units of eight groups over ten times; in group 0 the share is `ratio` times as high from time 5."""
    groups = np.sort(rng.integers(0, GROUPS, units))
    times = rng.integers(0, TIMES, units)
    level = np.exp(rng.normal(0, 0.2, GROUPS))[groups] * np.exp(trend * (times - 4.5) / 4.5)
    is_after = (groups == 0) & (times >= DAY)
    share = np.minimum(0.3 * level * np.where(is_after, ratio, 1.0), 0.95)
    events = (rng.random(units) < share).astype(float)
    return Units(events, np.full(units, 0.3), groups, times), np.where(is_after, AFTER, BEFORE)


@pytest.mark.parametrize("ratio", [1.0, 0.5])
def test_the_interval_holds_the_truth_and_the_estimate_is_not_off(ratio: float) -> None:
    rng = np.random.default_rng(3)
    found = [change_of(*drawn(rng, ratio)) for _ in range(200)]
    logs = np.array([change.log_ratio for change in found if change])
    errors = np.sqrt([change.variance for change in found if change])
    assert np.median(logs) == pytest.approx(np.log(ratio), abs=0.06)
    assert (np.abs(logs - np.log(ratio)) <= 1.96 * errors).mean() >= 0.9


def test_a_trend_that_all_share_is_not_taken_for_a_change() -> None:
    rng = np.random.default_rng(4)
    logs = [change.log_ratio for _ in range(60) if (change := change_of(*drawn(rng, 1.0, 4000, trend=0.6)))]
    assert np.mean(logs) == pytest.approx(0, abs=0.06)


def test_with_many_counts_it_is_poisson_regression() -> None:
    units, states = drawn(np.random.default_rng(5), 0.6, 60_000)
    found = change_of(units, states)
    assert found is not None
    columns = [units.groups == group for group in range(GROUPS)] + [units.times == time for time in range(1, TIMES)]
    design = np.column_stack([states == AFTER, *columns]).astype(float)
    fit = sm.GLM(units.events, design, family=sm.families.Poisson(), offset=np.log(units.expected)).fit()
    assert found.log_ratio == pytest.approx(fit.params[0], abs=0.01)
    assert found.variance / found.dispersion == pytest.approx(fit.bse[0] ** 2, rel=0.02)


def test_doors_just_before_are_told_apart_and_are_not_before() -> None:
    rng = np.random.default_rng(6)
    apart, together, just_before = [], [], []
    for _ in range(20):
        units, states = drawn(rng, 1.0, 5000, trend=0.0)
        just = (units.groups == 0) & (units.times == DAY - 1)
        events = np.where(just, rng.random(5000) < 2 * events_of(units, just), units.events).astype(float)
        bad_luck = Units(events, units.expected, units.groups, units.times)
        told, untold = change_of(bad_luck, np.where(just, JUST_BEFORE, states)), change_of(bad_luck, states)
        assert told is not None
        assert untold is not None
        apart.append(told.log_ratio)
        together.append(untold.log_ratio)
        just_before.append(told.just_before)
    assert np.mean(just_before) == pytest.approx(np.log(2), abs=0.1)
    assert np.mean(apart) == pytest.approx(0, abs=0.08)
    assert np.mean(together) < np.mean(apart) - 0.1  # the bad luck mends itself and looks like a success


def events_of(units: Units, just: np.ndarray) -> float:
    """The share in the treated group while nothing is amiss."""
    return float(units.events[(units.groups == 0) & ~just].mean())


def test_nothing_counted_is_no_change_and_none_on_one_side_is_no_infinite_ratio() -> None:
    units, states = drawn(np.random.default_rng(7), 1.0)
    assert change_of(Units(units.events * 0, *(units.expected, units.groups, units.times)), states) is None
    events = np.where(states == AFTER, 0.0, units.events)
    found = change_of(Units(events, units.expected, units.groups, units.times), states)
    assert found is not None
    assert -9 < found.log_ratio < -1
    assert np.isfinite(found.variance)


def test_days_without_a_training_are_as_far_apart_as_chance_says_and_farther_where_groups_wander() -> None:
    rng = np.random.default_rng(8)
    cuts = np.arange(2.0, 9.0)

    def spread(wander: float) -> float:
        units, _ = drawn(rng, 1.0, 8000)
        drift = rng.normal(0, wander, (GROUPS, TIMES)).cumsum(axis=1)[units.groups, units.times]
        events = (rng.random(8000) < np.minimum(0.3 * np.exp(drift), 0.95)).astype(float)
        wandering = Units(events, units.expected, units.groups, units.times)
        usual = usual_means(wandering)
        assert usual is not None
        scores = placebo_scores(wandering, usual[0], units.times.astype(float), cuts, 0, usual[1], 5)
        return float((scores**2).mean())

    assert np.mean([spread(0.0) for _ in range(20)]) == pytest.approx(1, abs=0.35)
    assert np.mean([spread(0.25) for _ in range(20)]) > 2


def test_pooling_is_between_its_parts_and_disagreement_widens_it() -> None:
    same = pooled_change(np.array([-0.5, -0.5, -0.5]), np.array([0.04, 0.04, 0.04]))
    apart = pooled_change(np.array([-1.2, -0.5, 0.2]), np.array([0.04, 0.04, 0.04]))
    assert same.log_ratio == pytest.approx(-0.5)
    assert same.variance == pytest.approx(0.04 / 3)
    assert apart.variance > 5 * same.variance
    assert pooled_change(np.array([-0.3]), np.array([0.2])) == (pooled_change(np.array([-0.3]), np.array([0.2])))


def test_yes_or_no_varies_less_than_counts() -> None:
    rng = np.random.default_rng(9)
    mean = np.full(20_000, 0.4)
    assert dispersion_of((rng.random(20_000) < 0.4).astype(float), mean, 1) == pytest.approx(0.6, abs=0.02)
    assert dispersion_of(rng.poisson(0.4, 20_000).astype(float), mean, 1) == pytest.approx(1, abs=0.04)
