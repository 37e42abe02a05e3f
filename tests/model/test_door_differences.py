"""Clumps of visits and doors that differ for good, on doors whose truth is known."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from pipeline.model.door_differences import clumping_of, door_error, frailty_of

DOORS, DAYS, MEAN = 4000, 900, 0.8


def watched(frailty: float, repeats: float, seed: int = 1) -> pl.DataFrame:
    """Calls of doors with gamma rates of mean 1; a share of them is followed by another within three weeks."""
    rng = np.random.default_rng(seed)
    rate = rng.gamma(1 / frailty, frailty, DOORS) if frailty else np.ones(DOORS)
    door = np.repeat(np.arange(DOORS), rng.poisson(MEAN * rate))
    day = rng.integers(0, DAYS, len(door))
    again = rng.random(len(door)) < repeats
    door = np.concatenate([door, door[again]])
    day = np.concatenate([day, day[again] + rng.integers(2, 22, int(again.sum()))])
    on = [date(2023, 1, 1) + timedelta(days=int(number)) for number in day]
    return pl.DataFrame({"install_id": [f"D{number}" for number in door], "reported_on": on})


ALIKE = (np.array([MEAN]), np.array([float(DOORS)]))


@pytest.mark.parametrize("repeats", [0.0, 0.2])
@pytest.mark.parametrize("frailty", [0.0, 1.0])
def test_clumps_are_told_from_doors_that_are_bad_for_good(frailty, repeats):
    """A call followed by another with chance r: clusters of one or two, mean square over mean (1 + 3 r) / (1 + r)."""
    calls = watched(frailty, repeats)
    clumping = clumping_of(calls, 28)
    assert clumping == pytest.approx((1 + 3 * repeats) / (1 + repeats), abs=0.06)
    assert frailty_of(calls, clumping, ALIKE) == pytest.approx(frailty, abs=0.15)


def test_one_call_or_none_has_no_clump():
    nothing = watched(0.0, 0.0).clear()
    assert clumping_of(nothing, 28) == 1.0
    assert frailty_of(nothing, 1.0, ALIKE) == 0.0
    assert clumping_of(watched(0.0, 0.0).head(1), 28) == 1.0


def test_only_doors_that_change_their_share_make_the_total_unsure():
    same = np.array([1.0, 2.0])
    assert door_error(1.0, same, 3 * same, np.array([10.0, 20.0])) == pytest.approx(0)
    # 100 new doors alone: sd of the mean of their rates, of variance 1, and of the 10,000 old ones they are judged by
    past, ahead, doors = np.array([1.0, 0.0]), np.array([0.0, 1.0]), np.array([10_000.0, 100.0])
    assert door_error(1.0, past, ahead, doors) == pytest.approx((1 / 100 + 1 / 10_000) ** 0.5)
    assert door_error(1.0, past, 0 * past, doors) == 0.0
