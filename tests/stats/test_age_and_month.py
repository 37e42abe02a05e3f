"""Rates by age and month: against another library, the truth of simulations, and what must not matter."""

import numpy as np
import pytest
import statsmodels.api as sm

from pipeline.stats.age_and_month import AgeMonthCounts, draw_ahead

AGES = np.log2([20, 38, 53, 75, 106, 149, 211, 298, 422, 597])
RATES = np.array([0.8, 0.6, 0.55, 0.5, 0.45, 0.4, 0.35, 0.3, 0.28, 0.25])


def counts(seed: int = 1, size: float = 30.0, months: int = 36, level: np.ndarray | float = 1.0, **other: object):
    rng = np.random.default_rng(seed)
    exposure = rng.uniform(0.3, 1.0, (len(RATES), months)) * size
    events = rng.poisson(exposure * RATES[:, None] * level).astype(float)
    given = {"unplaced": np.zeros(months), "clumping": 1.0} | other
    return AgeMonthCounts(exposure, events, age=AGES, **given)


def ahead_of(seen: AgeMonthCounts, seed: int = 5):
    """Draws of the events that the same doors bring in the next twelve months."""
    drawn = draw_ahead(seen, 12, 4000, np.random.default_rng(seed))
    return (np.exp(drawn.log_age) @ seen.exposure[:, -12:]) * np.exp(drawn.log_month)


def test_with_many_events_the_ages_are_those_of_a_poisson_regression():
    """statsmodels: Poisson with one level an age, log exposure as offset; priors weigh little against 30,000 events."""
    seen = counts(size=3000.0)
    drawn = draw_ahead(seen, 12, 2000, np.random.default_rng(1))
    ages = np.repeat(np.eye(len(RATES)), seen.exposure.shape[1], axis=0)
    fitted = sm.GLM(seen.events.ravel(), ages, family=sm.families.Poisson(), offset=np.log(seen.exposure.ravel())).fit()
    found = drawn.log_age - drawn.log_age.mean(axis=1, keepdims=True)
    assert found.mean(axis=0) == pytest.approx(fitted.params - fitted.params.mean(), abs=0.02)


def test_the_months_ahead_hold_the_truth_as_often_as_they_say():
    """A season, a shock a month and clumps that are not there: of 20 simulated years 17 or more lie in the interval."""
    inside = 0
    for seed in range(20):
        rng = np.random.default_rng(1000 + seed)
        month = np.arange(48)
        level = (1 + 0.3 * np.cos(2 * np.pi * month / 12)) * rng.gamma(100, 0.01, 48)
        seen = counts(seed, 20.0, 36, level[:36])
        expected = ahead_of(seen).sum(axis=1)
        low, high = np.quantile(np.random.default_rng(seed).poisson(expected), [0.025, 0.975])
        came = rng.poisson((RATES @ seen.exposure[:, -12:]) * level[36:]).sum()
        inside += low <= came <= high
    assert inside >= 17


def test_a_season_is_foretold_month_by_month():
    month = np.arange(60)
    seen = counts(size=100.0, months=60, level=1 + 0.4 * np.cos(2 * np.pi * month / 12))
    by_month = ahead_of(seen).mean(axis=0) / (RATES @ seen.exposure[:, -12:])
    assert by_month == pytest.approx(1 + 0.4 * np.cos(2 * np.pi * np.arange(12) / 12), abs=0.1)


def test_a_level_that_changed_is_followed():
    seen = counts(size=60.0, level=np.where(np.arange(36) < 18, 1.0, 1.6))
    assert ahead_of(seen).sum(axis=1).mean() / (RATES @ seen.exposure[:, -12:]).sum() == pytest.approx(1.6, abs=0.15)


def test_a_rate_that_rises_a_tenth_each_year_goes_on_rising():
    """Of 16 simulated years 13 or more lie in the interval; without a trend, 7 did, and it was foretold 13 % low."""
    inside, foretold = 0, []
    for seed in range(16):
        rng = np.random.default_rng(2000 + seed)
        level = np.exp(0.1 * np.arange(48) / 12) * rng.gamma(400, 0.0025, 48)
        seen = counts(seed, 20.0, 36, level[:36])
        expected = ahead_of(seen).sum(axis=1)
        truth = (RATES @ seen.exposure[:, -12:]) * level[36:]
        low, high = np.quantile(np.random.default_rng(seed).poisson(expected), [0.025, 0.975])
        inside += low <= rng.poisson(truth).sum() <= high
        foretold.append(expected.mean() / truth.sum())
    assert inside >= 13
    assert np.mean(foretold) == pytest.approx(1.0, abs=0.04)


def test_events_without_an_age_raise_the_level_and_not_the_shape():
    seen = counts(size=100.0)
    unknown = np.random.default_rng(2).binomial(seen.events.astype(int), 0.4)
    part = counts(size=100.0, unplaced=unknown.sum(axis=0).astype(float))
    part = AgeMonthCounts(part.exposure, part.events - unknown, part.unplaced, AGES, 1.0)
    whole, without = ahead_of(seen).sum(axis=1), ahead_of(part).sum(axis=1)
    assert without.mean() == pytest.approx(whole.mean(), rel=0.02)
    assert without.std() >= 0.95 * whole.std()


def test_clumps_make_it_less_sure():
    single, clumped = ahead_of(counts()).sum(axis=1), ahead_of(counts(clumping=3.0)).sum(axis=1)
    assert clumped.std() > 1.2 * single.std()


def test_an_age_nobody_has_reached_goes_on_as_the_ages_before_less_surely():
    seen = counts(size=200.0)
    exposure, events = seen.exposure.copy(), seen.events.copy()
    exposure[-2:] = events[-2:] = 0
    drawn = draw_ahead(AgeMonthCounts(exposure, events, seen.unplaced, AGES, 1.0), 12, 4000, np.random.default_rng(3))
    spread = drawn.log_age.std(axis=0)
    assert spread[-1] > spread[-2] > spread[-3]
    assert np.exp(drawn.log_age[:, -1].mean()) == pytest.approx(RATES[-1], rel=0.25)


def test_nothing_seen_is_refused():
    nothing = counts()
    with pytest.raises(ValueError, match="nothing to learn from"):
        draw_ahead(AgeMonthCounts(nothing.exposure, 0 * nothing.events, nothing.unplaced, AGES, 1.0), 12, 10, None)
