"""Boosted corrections: what they find, what they leave alone, and that the same records give the same correction."""

import numpy as np
import pytest

from pipeline.stats.boosting import MOST_BINS, Correction, binned


def test_bins_keep_the_order_and_few_values_as_they_are():
    rng = np.random.default_rng(1)
    inputs = np.column_stack([rng.normal(size=1000), rng.integers(0, 3, 1000), np.full(1000, 7.0)])
    bins = binned(inputs)
    assert [len(np.unique(column)) for column in bins.T] == [MOST_BINS, 3, 1]
    order = np.argsort(inputs[:, 0])
    assert (np.diff(bins[order, 0]) >= 0).all()
    assert np.corrcoef(bins[:, 1], inputs[:, 1])[0, 1] == pytest.approx(1)
    shares = np.bincount(bins[:, 0].astype(int)) / 1000
    assert shares.max() < 2 / MOST_BINS


def test_finds_what_matters_only_together_and_leaves_the_rest_near_nothing():
    rng = np.random.default_rng(2)
    inputs = rng.normal(size=(20_000, 6))
    both = (inputs[:, 0] > 0) & (inputs[:, 1] > 0)
    foretold = rng.uniform(0.02, 0.1, 20_000)
    events = rng.poisson(foretold * np.where(both, 4.0, 1.0)).astype(float)
    bins = binned(inputs)
    trees = Correction(bins, foretold, events, seed=1)
    correction = trees.of(bins)
    assert correction[both].mean() - correction[~both].mean() == pytest.approx(np.log(4), abs=0.35)
    assert correction[~both].std() < 0.35
    lost = [np.std(correction - trees.without(bins, np.array([column]), seed=1)) for column in range(6)]
    assert min(lost[:2]) > 3 * max(lost[2:])


def test_what_is_foretold_right_is_left_alone():
    rng = np.random.default_rng(3)
    inputs = rng.normal(size=(4000, 30))
    foretold = np.exp(0.6 * inputs[:, 0] - 3.5)
    events = rng.poisson(foretold).astype(float)
    correction = Correction(binned(inputs), foretold, events, seed=1).of(binned(inputs))
    # the noise of a hundred callbacks, drawn in, against a spread of 0.6 that was foretold
    assert correction.std() < 0.35


def test_rows_that_were_not_watched_teach_nothing_and_the_same_records_give_the_same_correction():
    rng = np.random.default_rng(4)
    bins = binned(rng.normal(size=(1000, 4)))
    foretold = np.where(np.arange(1000) < 600, 0.2, 0.0)
    events = rng.poisson(foretold).astype(float)
    first, again, fewer = (Correction(bins[:n], foretold[:n], events[:n], seed=1).of(bins) for n in (1000, 1000, 600))
    assert (first == again).all()
    assert (first == fewer).all()
    assert len(first) == 1000
