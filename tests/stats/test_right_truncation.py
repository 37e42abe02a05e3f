"""How long paper takes: against another library, against the truth of a simulation, and where nothing is missing."""

import numpy as np
import pytest
from lifelines import KaplanMeierFitter

from pipeline.stats.right_truncation import NO_DELAYS, delays_of

RNG = np.random.default_rng(11)


def seen_paper(n: int = 20_000, mean: float = 45.0, days: int = 120) -> tuple[np.ndarray, np.ndarray]:
    """Delays and limits of what can be seen of paper that takes a geometric time, reported evenly over some days."""
    delay, limit = RNG.geometric(1 / mean, n) - 1, RNG.integers(0, days, n)
    is_seen = delay <= limit
    return delay[is_seen], limit[is_seen]


def test_where_nothing_can_be_missing_it_is_the_plain_share():
    delays = np.array([0, 1, 1, 5, 9])
    found = delays_of(delays, np.full(5, 100))
    assert found.arrived_by([-1, 0, 1, 4, 5, 100]).tolist() == pytest.approx([0, 0.2, 0.6, 0.6, 0.8, 1])
    assert (found.days_until(0.6), found.days_until(0.95)) == (1, 9)


def test_it_is_the_product_limit_estimate_in_reversed_time():
    """lifelines: survival of (longest - delay), entered at (longest - limit), is the share that arrives sooner."""
    delays, limits = seen_paper(2000)
    found = delays_of(delays, limits)
    longest = delays.max()
    entry = np.maximum(longest - limits, 0) - 0.5
    fitted = KaplanMeierFitter().fit(longest - delays, entry=entry)
    for day, share in list(zip(found.days, found.arrived, strict=True))[:-1:7]:
        assert share == pytest.approx(float(fitted.predict(longest - day - 0.5)), abs=1e-9)


def test_it_finds_the_delays_that_are_mostly_missing():
    """Mean delay 45 days, 120 days of reports: the plain share is far off, the corrected one is not."""
    delays, limits = seen_paper()
    found = delays_of(delays, limits)
    upto = np.array([7, 30, 60])
    # what can be known is the distribution up to the longest delay seen
    true = (1 - (1 - 1 / 45) ** (upto + 1)) / (1 - (1 - 1 / 45) ** (delays.max() + 1))
    assert found.arrived_by(upto) == pytest.approx(true, abs=0.03)
    assert np.mean(delays <= 30) - true[1] > 0.1


def test_no_delay_known_corrects_nothing():
    assert NO_DELAYS.arrived_by([0, 5]).tolist() == [1.0, 1.0]
    assert NO_DELAYS.days_until(0.95) == 0
    assert len(delays_of([], []).days) == 0


@pytest.mark.parametrize(("delays", "limits"), [([-1], [3]), ([4], [3])])
def test_a_delay_beyond_its_limit_is_refused(delays, limits):
    with pytest.raises(ValueError, match="between 0 and its limit"):
        delays_of(delays, limits)


def test_one_early_straggler_does_not_take_the_share_of_all_others() -> None:
    delays, limits = [300] + [3] * 200, [390, *range(50, 250)]
    assert delays_of(delays, limits).arrived.tolist() == [0.0, 1.0]
    found = delays_of(delays, limits, least=20)
    assert found.days.tolist() == [3]
    assert found.arrived.tolist() == [1.0]


def test_where_no_delay_has_enough_behind_it_none_is_known() -> None:
    assert not len(delays_of([5], [9], least=2).days)
