"""Last digits: honest ones are left alone at any spread, preferred ones are found, draws are what they claim."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pipeline.stats.digits import (
    SHIFTS,
    digit_counts_by_door,
    digits_p,
    displaced_share,
    drawn_p,
    shifted_digits,
    smooth_digits,
    whipple_index,
)

DOORS, EACH = 80, 6


def grid(steps: np.ndarray) -> np.ndarray:
    door = np.repeat(np.arange(len(steps)), steps.shape[1])
    return digit_counts_by_door(door, steps.ravel(), np.ones(steps.size, dtype=np.int64), len(steps))


def honest(rng: np.random.Generator, spread: float, between: float) -> np.ndarray:
    """Readings in whole steps; `between` is the part of their spread that a door's readings share."""
    door = rng.normal(0, spread * between, (DOORS, 1))
    return np.round(3 * spread + door + rng.normal(0, spread * np.sqrt(1 - between**2), (DOORS, EACH))).astype(np.int64)


def p_of(steps: np.ndarray, rng: np.random.Generator, most: int = 400) -> float:
    return digits_p([grid(steps)], most, rng).p_value


@pytest.mark.parametrize("spread", [5, 12, 60])
@pytest.mark.parametrize("between", [0.0, 0.95])
def test_honest_digits_raise_no_more_alarms_than_asked_for(spread: float, between: float) -> None:
    rng = np.random.default_rng([int(spread), int(between * 100)])
    p = np.array([p_of(honest(rng, spread, between), rng) for _ in range(120)])
    # 11 of 120 at 5 % is the upper 97.5 % point of the binomial
    assert (p <= 0.05).sum() <= stats.binom.ppf(0.975, 120, 0.05)


def test_digits_that_come_to_mind_are_found() -> None:
    rng = np.random.default_rng(3)
    steps = honest(rng, 15, 0.5)
    liked = rng.choice([3, 7, 8], steps.shape)
    steps = np.where(rng.random(steps.shape) < 0.4, steps // 10 * 10 + liked, steps)
    drawn = digits_p([grid(steps)], 5000, rng)
    assert drawn.p_value < 0.001
    counts = grid(steps)
    assert displaced_share(counts[:, SHIFTS.index(0)].sum(axis=0), smooth_digits(counts)) > 0.15


@settings(max_examples=50, deadline=None)
@given(st.lists(st.integers(-500, 500), min_size=1, max_size=60))
def test_counts_hold_every_number_once_in_each_shift(numbers: list[int]) -> None:
    steps = np.array(numbers)
    counts = digit_counts_by_door(np.zeros(len(steps), dtype=np.int64), steps, np.ones(len(steps), dtype=np.int64), 1)
    assert counts.shape == (1, 5, 10)
    assert counts.sum(axis=2).tolist() == [[len(numbers)] * 5]
    as_written = [int(str(number)[-1]) for number in numbers]
    assert counts[0, SHIFTS.index(0)].tolist() == np.bincount(as_written, minlength=10).tolist()


def test_a_shift_moves_the_number_and_not_its_digit() -> None:
    assert shifted_digits(np.array([-1])).ravel().tolist() == [3, 2, 1, 0, 1]


def test_no_digits_have_no_index() -> None:
    with pytest.raises(ValueError, match="no digits"):
        whipple_index(np.zeros(10))


def test_a_drawn_p_value_is_right_on_average_and_stops_early() -> None:
    rng = np.random.default_rng(8)
    drawn: list[int] = []

    def draw(n: int) -> np.ndarray:
        drawn.append(n)
        return rng.standard_normal((n, 1))

    p = [drawn_p(float(stats.norm.isf(0.2)), draw, 100_000).p_value for _ in range(200)]
    assert np.mean(p) == pytest.approx(0.2, abs=0.02)
    assert sum(drawn) == 200 * 500  # one batch each: ten exceed long before it ends
    assert drawn_p(9.0, draw, 2000).p_value == pytest.approx(1 / 2001)
