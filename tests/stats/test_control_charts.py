"""Charts that start themselves: no false alarms but those asked for, whatever the level; and changes are found."""

import numpy as np
import pytest
from scipy import stats

from pipeline.stats.control_charts import (
    gap_scores,
    likeliest_change,
    moving_range_factor,
    scores_against_past,
    share_scores,
    upward_ewma,
    upward_sum,
)
from pipeline.stats.cusum import ratio_scores
from pipeline.stats.run_lengths import count_run_length, cusum_run_length, ewma_run_length, limit_for
from pipeline.stats.shrinkage import GammaPrior

RNG = np.random.default_rng(11)


def is_standard_normal(scores: np.ndarray) -> bool:
    return stats.kstest(scores[np.isfinite(scores)], "norm").pvalue > 0.001


def test_points_against_their_past_are_standard_normal_and_independent() -> None:
    variances = RNG.uniform(0.2, 3.0, (800, 12))
    means = RNG.normal(size=(800, 1)) * 5 + RNG.normal(size=(800, 12)) * np.sqrt(variances)
    scores = scores_against_past(means, variances)
    assert np.isnan(scores[:, 0]).all()
    assert is_standard_normal(scores)
    assert np.abs(np.corrcoef(scores[:, 1:].T) - np.eye(11)).max() < 0.15


def test_a_gap_in_a_chart_is_passed_over() -> None:
    scores = scores_against_past(np.array([[1.0, np.nan, 3.0]]), np.array([[1.0, np.nan, 1.0]]))
    assert scores[0, 2] == pytest.approx(2 / np.sqrt(2))
    assert np.isnan(scores[0, :2]).all()


def test_the_moving_range_sees_spread_between_points() -> None:
    own = np.full((40, 50), 1.0)
    assert moving_range_factor(RNG.normal(size=own.shape), own) == pytest.approx(1, abs=0.05)
    assert moving_range_factor(RNG.normal(size=own.shape) * 2, own) == pytest.approx(2, abs=0.1)


@pytest.mark.parametrize("share", [0.03, 0.2, 0.6])
def test_counts_against_their_past_do_not_alarm_more_often_than_asked(share: float) -> None:
    trials = RNG.integers(5, 15, (1500, 15))
    hits = RNG.binomial(trials, share)
    exact = share_scores(hits, trials, is_exact=True)
    for level in (0.05, 0.005):
        assert np.nanmean(exact > stats.norm.isf(level)) <= level * 1.1
    middle = share_scores(hits, trials, is_exact=False)
    assert np.nanmean(middle) == pytest.approx(0, abs=0.05)


def test_gaps_against_their_past_are_standard_normal() -> None:
    scores = np.array([gap_scores(RNG.exponential(RNG.uniform(0.1, 9), 30), 3) for _ in range(400)])
    assert is_standard_normal(scores)
    assert gap_scores([5, 6, 4, 5, 6, 5, 0.1, 0.2, 0.1], 3)[-1] > 2.5


def test_the_run_length_of_a_mean_that_looks_back_is_what_simulation_gives() -> None:
    limit = limit_for(lambda height: ewma_run_length(0.15, height), 60, 0.1, 2)
    assert ewma_run_length(0.15, limit) == pytest.approx(60, rel=1e-3)
    _, alarms, _ = upward_ewma(RNG.normal(size=(400, 1000)), 0.15, limit)
    assert 1 / alarms.mean() == pytest.approx(60, rel=0.05)


def test_the_run_length_of_a_sum_is_what_simulation_gives() -> None:
    _, alarms, _ = upward_sum(RNG.normal(size=(400, 1000)) - 0.5, 2.5)
    assert 1 / alarms.mean() == pytest.approx(cusum_run_length(0.5, 2.5), rel=0.05)


@pytest.mark.parametrize(("expected", "over"), [(0.4, 1.0), (3.0, 1.0), (3.0, 1.6)])
def test_the_run_length_of_counts_is_what_simulation_gives(expected: float, over: float) -> None:
    limit = limit_for(lambda h: count_run_length(expected, 1.5, h, over), 200, 0.2, 8)
    shape = (400, 2000)
    draws = RNG.poisson(expected, shape) if over == 1 else RNG.negative_binomial(expected / (over - 1), 1 / over, shape)
    known = GammaPrior(1e9, 1e9)  # the level is known
    scores = ratio_scores(draws.astype(float), np.full(shape, expected), 1.5, known, over)
    _, alarms, _ = upward_sum(scores, limit)
    assert 1 / alarms.mean() == pytest.approx(count_run_length(expected, 1.5, limit, over), rel=0.08)


def test_likelihood_ratios_have_mean_one_whoever_the_crew_is() -> None:
    prior = GammaPrior(6.0, 6.0)
    expected = RNG.uniform(0.5, 4.0, (40_000, 8))
    counts = RNG.poisson(expected * RNG.gamma(6.0, 1 / 6.0, (40_000, 1)))
    scores = ratio_scores(counts.astype(float), expected, 1.5, prior, 1.0)
    assert np.exp(scores).mean(axis=0) == pytest.approx(np.ones(8), abs=0.03)


def test_a_rise_is_found_and_dated() -> None:
    scores = np.concatenate([np.full(10, -0.5), np.full(10, 2.0)])[None, :]
    _, alarms, since = upward_sum(scores - 0.5, 4.0)
    first = np.flatnonzero(alarms[0])[0]
    assert first == 12
    assert since[0, first] == 10
    assert alarms[0].sum() == 3  # begun anew after each


def test_a_limit_that_is_never_reached_is_the_nearer_end() -> None:
    assert limit_for(lambda height: ewma_run_length(0.15, height), 1e30, 0.1, 2) == 2
    assert limit_for(lambda height: ewma_run_length(0.15, height), 1.0, 0.1, 2) == 0.1


def test_an_alarm_tells_nearly_when_the_change_came():
    # as Pignatiello and Samuel (2001) find, however long the mean had stayed above 0 before
    scores = np.random.default_rng(4).normal(size=(500, 80))
    scores[:, 40:] += 1.0
    _, alarms, since = upward_ewma(scores, 0.15, 0.85)
    first = np.where(alarms.any(axis=1), alarms.argmax(axis=1), 0)
    late = np.flatnonzero(first >= 40)
    assert len(late) > 400
    told = since[late, first[late]]
    assert abs(np.median(told) - 40) <= 1
    assert np.mean(np.abs(told - 40) <= 5) > 0.8


def test_the_likeliest_change_is_where_the_sum_after_it_is_largest_for_its_length():
    assert likeliest_change(np.array([0.2, -0.1, 2.0, 1.8, 2.2])) == 2
    assert likeliest_change(np.array([np.nan, 1.0, np.nan, 1.0])) == 1
    assert likeliest_change(np.array([-1.0, -1.0, 0.5])) == 2
