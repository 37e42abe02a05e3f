"""The cheapest limit: on figures that can be worked by hand, and by brute force."""

import numpy as np
import pytest

from pipeline.stats.least_cost import Stakes, cheapest, costs_of_limits


def test_a_cost_worked_by_hand() -> None:
    # four grid values with 10 things each, 1 event each; the ratio doubles from value to value
    stakes = Stakes(np.log([[1.0, 2.0, 4.0, 8.0]]), np.array([1.0, 2.0, 4.0, 8.0]), 100.0)
    costs = costs_of_limits(np.full(4, 10.0), 5.0, [stakes])
    # limit at the third value: ten things put right (50), the 8 events there become 4 (400 spared)
    assert costs[0, 2] == pytest.approx(50 - 400)
    # at the second: 20 things (100), 4 -> 2 and 8 -> 2 (800 spared)
    assert costs[0, 1] == pytest.approx(100 - 800)
    assert costs[0, 3] == 0


@pytest.mark.parametrize(("put_right", "expected"), [(0.0, 0), (1e6, 3)])
def test_free_rework_is_done_everywhere_and_dear_rework_never(put_right: float, expected: int) -> None:
    stakes = Stakes(np.log([[1.0, 1.2, 1.5, 3.0]]), np.array([4.0, 4.0, 3.0, 2.0]), 200.0)
    assert cheapest(costs_of_limits(np.full(4, 50.0), put_right, [stakes])).tolist() == [expected]


def test_no_effect_means_no_rework() -> None:
    stakes = Stakes(np.zeros((1, 5)), np.ones(5), 300.0)
    assert cheapest(costs_of_limits(np.ones(5), 1.0, [stakes])).tolist() == [4]


def test_two_kinds_of_events_equal_brute_force() -> None:
    rng = np.random.default_rng(4)
    things, put_right = rng.uniform(1, 30, 9), 11.0
    stakes = [Stakes(rng.normal(size=(3, 9)), rng.uniform(0, 5, 9), cost) for cost in (150.0, 420.0)]
    costs = costs_of_limits(things, put_right, stakes)
    for row in range(3):
        for limit in range(9):
            total = put_right * things[limit + 1 :].sum()
            for part in stakes:
                moved = np.exp(part.log_ratios[row, limit] - part.log_ratios[row, limit + 1 :])
                total += part.cost * (part.events[limit + 1 :] * (moved - 1)).sum()
            assert costs[row, limit] == pytest.approx(total)
