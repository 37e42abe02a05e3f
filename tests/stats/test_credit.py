"""Credit for one event: sums, symmetry, and the values of Shapley and of Aumann and Shapley by brute force."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from pipeline.stats.credit import credit_errors, credit_shares, own_parts, passing_on

log_parts = arrays(float, st.integers(1, 6), elements=st.floats(-2, 4, allow_nan=False))


def shapley(value, n: int) -> np.ndarray:
    """The mean over all orders of what each player adds (Shapley 1953, in Contributions to the Theory of Games II)."""
    total = np.zeros(n)
    for order in itertools.permutations(range(n)):
        for place, player in enumerate(order):
            total[player] += value({*order[: place + 1]}) - value({*order[:place]})
    return total / math.factorial(n)


@given(log_parts)
def test_shares_are_never_negative_and_sum_to_one_with_what_none_explains(parts: np.ndarray) -> None:
    shares, left = credit_shares(parts)
    assert (shares >= 0).all()
    assert left >= 0
    assert shares.sum() + left == pytest.approx(1)


@given(log_parts, st.integers(0, 10_000))
def test_the_order_of_the_causes_does_not_matter(parts: np.ndarray, seed: int) -> None:
    order = np.random.default_rng(seed).permutation(len(parts))
    np.testing.assert_allclose(credit_shares(parts)[0][order], credit_shares(parts[order])[0], atol=1e-12)


@given(log_parts)
def test_equal_causes_share_alike_and_what_adds_nothing_gets_nothing(parts: np.ndarray) -> None:
    shares, left = credit_shares(np.concatenate([parts, parts[:1], [0.0, -1.0]]))
    assert shares[0] == pytest.approx(shares[len(parts)])
    assert (shares[-2:] == 0).all()
    alone, alone_left = credit_shares(np.concatenate([parts, parts[:1]]))
    np.testing.assert_allclose(shares[:-2], alone)
    assert left == pytest.approx(alone_left)


def test_one_cause_gets_the_probability_of_causation() -> None:
    # Greenland and Robins (1988), Am. J. Epidemiol. 128, 1185-1197: (ratio - 1) / ratio; from memory
    shares, left = credit_shares(np.log(np.array([4.0])))
    assert (shares[0], left) == (pytest.approx(0.75), pytest.approx(0.25))


def test_on_the_log_hazard_the_value_of_shapley_is_the_own_part() -> None:
    parts = np.array([0.9, 0.2, 0.5, 0.0])
    np.testing.assert_allclose(shapley(lambda players: parts[list(players)].sum(), 4), parts)


def test_shares_are_what_shapley_gives_to_small_pieces_of_each_cause() -> None:
    parts = np.array([1.2, 0.4])
    pieces = np.array([0.4, 0.4, 0.4, 0.4])  # 3 and 1 pieces that are alike
    value = shapley(lambda players: 1 - math.exp(-pieces[list(players)].sum()), 4)
    np.testing.assert_allclose([value[:3].sum(), value[3]], credit_shares(parts)[0])


def test_shares_are_near_the_value_of_shapley_of_whole_causes() -> None:
    parts = np.array([1.0, 0.5, 0.3])
    whole = shapley(lambda players: 1 - math.exp(-parts[list(players)].sum()), 3)
    assert np.abs(whole - credit_shares(parts)[0]).max() < 0.04


def test_errors_are_those_of_draws() -> None:
    rng = np.random.default_rng(3)
    parts, errors = np.array([1.1, 0.6, 0.9]), np.array([0.12, 0.1, 0.0])
    draws = credit_shares(parts + errors * rng.normal(size=(200_000, 3)))
    found = credit_errors(parts, errors)
    np.testing.assert_allclose(found[0], draws[0].std(axis=0), rtol=0.03)
    assert found[1] == pytest.approx(draws[1].std(), rel=0.03)


def test_errors_are_finite_where_nothing_adds() -> None:
    errors, left = credit_errors(np.zeros((2, 3)), np.ones((2, 3)))
    assert (errors == 0).all()
    assert (left == 0).all()


def test_what_was_passed_on_is_credited_to_the_earlier_cause() -> None:
    passed_on = np.array([[0.0, 0.0], [0.5, 0.0]])
    excess = np.array([[4.0, 3.0], [4.0, 1.0], [0.0, 3.0]])
    np.testing.assert_allclose(own_parts(excess, passed_on), [[4.0, 1.0], [4.0, 0.0], [0.0, 3.0]])


def test_what_passes_on_is_found_and_a_careless_group_is_not_taken_for_it() -> None:
    rng = np.random.default_rng(5)
    groups = np.repeat(np.arange(20), 200)
    careless = rng.normal(size=20)[groups]
    first = careless + rng.normal(size=4000)
    second = 0.4 * first + careless + rng.normal(size=4000)
    alone = careless + rng.normal(size=4000)
    values = np.column_stack([first, second, alone])
    values[::7, 0] = np.nan
    earlier = np.array([[False, False, False], [True, False, False], [True, False, False]])
    found = passing_on(values, earlier, groups)
    np.testing.assert_allclose(found, [[0, 0, 0], [0.4, 0, 0], [0, 0, 0]], atol=0.05)


def test_hardly_recorded_causes_pass_nothing_on() -> None:
    values = np.full((100, 2), np.nan)
    values[:20] = np.arange(40.0).reshape(20, 2)
    assert (passing_on(values, np.array([[False, False], [True, False]]), np.zeros(100, int)) == 0).all()
