"""Direct standardisation against a printed example and against its own algebra."""

import numpy as np
import pytest

from pipeline.stats.direct_standard import standardised_rate
from pipeline.stats.intervals import poisson_interval
from pipeline.stats.ratio_draws import place_interval

# Fleiss (1981), Statistical Methods for Rates and Proportions, table 14.4, page 249: Down's syndrome in Michigan by
# mother's age (six groups) and birth order; births and cases as printed in the help of the R package epitools.
BIRTHS = np.array([
    [230061, 329449, 114920, 39487, 14208, 3052], [72202, 326701, 208667, 83228, 28466, 5375],
    [15050, 175702, 207081, 117300, 45026, 8660], [2293, 68800, 132424, 98301, 46075, 9834],
    [327, 30666, 123419, 149919, 104088, 34392],
])  # fmt: skip
CASES = np.array([
    [107, 141, 60, 40, 39, 25], [25, 150, 110, 84, 82, 39], [3, 71, 114, 103, 108, 75], [1, 26, 64, 89, 137, 96],
    [0, 8, 63, 112, 262, 295],
])  # fmt: skip


# Adjusted rate and its 95 % gamma limits per 1,000 births, as the README of the R package tidyrates prints them; read.
PRINTED = [
    (0.923, 0.804, 1.06), (0.912, 0.824, 1.01), (0.851, 0.772, 0.942), (0.927, 0.800, 1.15), (0.755, 0.677, 1.88),
]  # fmt: skip


def test_births_of_fleiss() -> None:
    for births, cases, printed in zip(BIRTHS, CASES, PRINTED, strict=True):
        rate = standardised_rate(cases, births, BIRTHS.sum(axis=0))
        found = [1000 * float(part) for part in (rate.estimate, rate.low, rate.high)]
        assert [float(f"{part:.3g}") for part in found] == list(printed)


def test_a_standard_in_proportion_gives_the_exact_interval_of_the_count() -> None:
    rate = standardised_rate([3, 5, 2], [10, 20, 15], [100, 200, 150])
    exact = poisson_interval(10)
    assert [float(rate.estimate), float(rate.low), float(rate.high)] == pytest.approx(
        [10 / 45, float(exact.low) / 45, float(exact.high) / 45]
    )


def test_no_event_leaves_an_upper_limit() -> None:
    rate = standardised_rate([0, 0], [10.0, 5.0], [1, 1])
    assert float(rate.low) == 0
    assert float(rate.high) == pytest.approx(3.6889 / 10, rel=1e-4)  # the worst: as if all fell in the thinner stratum


def test_places_of_groups_far_apart_are_known_and_of_groups_alike_are_not() -> None:
    rng = np.random.default_rng(5)
    apart = rng.normal([1.0, 9.0, 5.0], 0.1, (1000, 3))
    low, high = place_interval(apart)
    assert low.tolist() == high.tolist() == [1, 3, 2]
    low, high = place_interval(rng.normal(1.0, 0.1, (1000, 5)))
    assert low.tolist() == [1] * 5
    assert high.tolist() == [5] * 5
