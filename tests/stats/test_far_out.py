"""Far out values: none among normal ones, misread ones found, what stood there kept, many alike left alone."""

import numpy as np
import pytest
from scipy import stats

from pipeline.stats.far_out import OUTER, TIMES, pulled_in


def test_the_fence_is_as_rare_among_known_laws_as_is_said():
    # of the upper half's outer twentieth: the 97.5th percentile of all
    for law, most in ((stats.norm(), 1e-8), (stats.expon(), 1 / 10_000), (stats.lognorm(1.0), 1 / 500)):
        fence = law.median() + TIMES * (law.ppf(0.5 + OUTER / 2) - law.median())
        assert law.sf(fence) <= most


def test_values_read_ten_times_too_large_are_pulled_in_and_kept():
    values = np.random.default_rng(2).normal(5.0, 1.0, (500, 2))
    values[[3, 70], 0] = 50.0, 61.0
    values[9, 0] = np.nan
    before = values.copy()
    moved = pulled_in(values, [0, 1])
    assert list(moved) == [0]
    rows, read = moved[0]
    assert rows.tolist() == [3, 70]
    assert read.tolist() == [50.0, 61.0]
    assert (values[[3, 70], 0] < 15.0).all()
    others = np.delete(np.arange(500), [3, 70])
    np.testing.assert_array_equal(values[others], before[others])


def test_the_side_does_not_matter():
    values = np.random.default_rng(2).normal(0.0, 1.0, (300, 1))
    values[0, 0] = 30.0
    turned = -values
    assert pulled_in(values, [0])[0][0].tolist() == pulled_in(turned, [0])[0][0].tolist() == [0]
    assert turned[0, 0] == pytest.approx(-values[0, 0])


def test_the_few_that_differ_from_many_alike_are_not_far_out_for_that():
    alike = np.zeros((1000, 1))
    alike[:40, 0] = np.linspace(1.0, 10.0, 40)
    assert pulled_in(alike, [0]) == {}


def test_too_few_values_have_no_fence():
    assert pulled_in(np.r_[np.arange(15.0), 1000.0][:, None], [0]) == {}
    assert pulled_in(np.full((5, 1), np.nan), [0]) == {}
