"""What a second score adds: against statsmodels, by drawing anew, and where there is nothing to add or to tell."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from pipeline.stats.two_scores import Twice, added


def kind(rng, n, slopes, level=0.1, noise=0.0, groups=20):
    scores = rng.normal(size=(n, 2))
    exposure = rng.uniform(0.2, 1.0, n)
    group = np.sort(rng.integers(0, groups, n))
    extra = noise * rng.normal(size=groups)[group] * np.sign(scores[:, 1])
    events = rng.poisson(exposure * level * np.exp(scores @ slopes + extra)).astype(float)
    return Twice(scores, exposure, events, np.arange(n), group)


def reference(kinds, columns):
    """Poisson regression with a level for each kind: slopes, model errors, log likelihood."""
    sizes = [len(each.events) for each in kinds]
    levels = np.eye(len(kinds))[np.repeat(np.arange(len(kinds)), sizes)]
    scores = np.concatenate([each.scores for each in kinds])[:, columns]
    events, exposure = (np.concatenate([getattr(each, what) for each in kinds]) for what in ("events", "exposure"))
    design = np.column_stack([levels, scores]) if columns else levels
    return sm.GLM(events, design, family=sm.families.Poisson(), exposure=exposure).fit(tol=1e-12)


def test_slope_and_share_are_those_of_poisson_regressions():
    rng = np.random.default_rng(1)
    kinds = [kind(rng, 3000, [0.6, 0.3]), kind(rng, 2000, [0.6, 0.3], level=0.4)]
    found, both = added(kinds), reference(kinds, [0, 1])
    assert found.slope == pytest.approx(both.params[-1], abs=1e-6)
    assert found.error >= both.bse[-1] * 0.999
    assert found.error < 1.3 * both.bse[-1]
    assert found.p_value == pytest.approx(2 * stats.norm.sf(found.slope / found.error))
    none, first = reference(kinds, []).llf, reference(kinds, [0]).llf
    assert found.new_share == pytest.approx(1 - (first - none) / (both.llf - none), abs=1e-6)


@pytest.mark.parametrize("noise", [0.0, 0.5])
def test_nothing_added_is_found_no_more_often_than_stated(noise):
    rng = np.random.default_rng(2)
    p = np.array([added([kind(rng, 600, [0.8, 0.0], level=0.3, noise=noise)]).p_value for _ in range(300)])
    # 5 % of 300 is 15; rows of a group that are alike must not make it more, as the model's own error would
    assert (p <= 0.05).sum() <= 24


def test_what_the_first_score_overstates_is_nothing_that_the_second_adds():
    rng = np.random.default_rng(3)
    each = kind(rng, 20_000, [0.5, 0.0])
    scores = np.column_stack([2 * each.scores[:, 0], -each.scores[:, 0] + rng.normal(size=20_000)])
    found = added([Twice(scores, each.exposure, each.events, each.units, each.groups)])
    assert abs(found.slope) < 3 * found.error
    assert found.new_share < 0.02


def test_a_second_score_that_never_varies_adds_nothing():
    rng = np.random.default_rng(4)
    each = kind(rng, 500, [0.5, 0.0], level=0.5)
    flat = np.column_stack([each.scores[:, 0], np.full(500, 3.0)])
    found = added([Twice(flat, each.exposure, each.events, each.units, each.groups)])
    assert abs(found.slope) < 1e-6 * found.error
    assert found.p_value > 0.99
    assert found.new_share == pytest.approx(0, abs=1e-6)


def test_no_event_is_none():
    some = np.ones(3)
    assert added([]) is None
    assert added([Twice(np.ones((3, 2)), some, np.zeros(3), np.arange(3), np.arange(3))]) is None
