"""Control charts against printed constants, examples and run lengths."""

import numpy as np
import pytest

from pipeline.stats.control_charts import (
    NELSON_POWER,
    between_events_limits,
    chart_factors,
    count_limits,
    individuals_limits,
    nelson_limits,
)
from pipeline.stats.cusum import tabular_cusum
from pipeline.stats.run_lengths import cusum_run_length, shewhart_run_length, two_sided_cusum_run_length


# ISO 7870-2 and the ASTM manual on control charts print three decimals (B4 = D4 = 3.267 for n = 2): from memory,
# computed by quadrature. Order: c4 d2 d3 A2 A3 B3 B4 D3 D4.
@pytest.mark.parametrize(
    ("size", "factors"),
    [
        (2, (0.7979, 1.1284, 0.8525, 1.8800, 2.6587, 0, 3.2665, 0, 3.2665)),
        (3, (0.8862, 1.6926, 0.8884, 1.0233, 1.9544, 0, 2.5682, 0, 2.5746)),
        (4, (0.9213, 2.0588, 0.8798, 0.7286, 1.6281, 0, 2.2660, 0, 2.2821)),
        (5, (0.9400, 2.3259, 0.8641, 0.5768, 1.4273, 0, 2.0890, 0, 2.1145)),
        (6, (0.9515, 2.5344, 0.8480, 0.4832, 1.2871, 0.0304, 1.9696, 0, 2.0038)),
        (10, (0.9727, 3.0775, 0.7971, 0.3083, 0.9754, 0.2837, 1.7163, 0.2230, 1.7770)),
    ],
)
def test_factors(size: int, factors: tuple[float, ...]) -> None:
    f = chart_factors(size)
    assert [round(x, 4) for x in (f.c4, f.d2, f.d3, f.a2, f.a3, f.b3, f.b4, f.d_low, f.d_high)] == list(factors)


def test_piston_rings() -> None:
    """Trap: books print from rounded values, so limits agree to as many digits as are printed and no more.

    Montgomery, Introduction to Statistical Quality Control, table 6.3, 25 samples of 5: 74.001, 73.988 and 74.014 in
    print; from memory, means computed with pandas from a public copy of the table.
    """
    mean, spread, span = 74.001176, 0.009240, 0.02276
    f = chart_factors(5)
    assert [mean - f.a3 * spread, mean + f.a3 * spread] == pytest.approx([73.98799, 74.01436], abs=1e-5)
    assert f.b4 * spread == pytest.approx(0.01930, abs=5e-6)
    assert f.d_high * span == pytest.approx(0.04813, abs=5e-6)
    assert [round(mean + side * f.a2 * span, 3) for side in (-1, 1)] == [73.988, 74.014]


def test_individuals_of_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.2, read in a quotation: 50.81, 45.8159 and 55.8041 with d2 = 1.128 printed.
    limits = individuals_limits([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    assert limits.centre == pytest.approx(50.81)
    assert (limits.high - limits.centre) / 3 * chart_factors(2).d2 == pytest.approx(1.8778, abs=5e-5)
    assert limits.high == pytest.approx(55.8024, abs=1e-4)  # with exact d2
    assert 50.81 + (limits.high - 50.81) * chart_factors(2).d2 / 1.128 == pytest.approx(55.8041, abs=1e-4)
    assert 50.81 - (50.81 - limits.low) * chart_factors(2).d2 / 1.128 == pytest.approx(45.8159, abs=1e-4)


def test_wafer_defects_of_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook 6.3.3.1: 400 defects on 25 wafers; limits from memory.
    limits = count_limits(np.full(25, 16.0))
    assert (limits.centre, limits.low, limits.high) == (16, 4, 28)


def test_cumulative_sum_of_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.3, data and figures from memory: target 325, k 0.3175, h 4.1959.
    values = [
        324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150,
        328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
    ]  # fmt: skip
    sums = tabular_cusum(values, 325, 0.3175)
    printed = [3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04]
    assert sums.above[12:] == pytest.approx(printed, abs=0.006)
    assert np.flatnonzero(sums.above > 4.1959)[0] + 1 == 14
    assert sums.below.max() == pytest.approx(0.715)


# Lucas (1976), J. Qual. Technol. 8, 1-12, and NIST/SEMATECH e-Handbook 6.3.2.3.1: k 0.5, h 5; from memory.
@pytest.mark.parametrize(
    ("shift", "length"),
    [
        (0, 465.44), (0.25, 139.49), (0.5, 38.00), (0.75, 17.05), (1, 10.38), (1.5, 5.75), (2, 4.01), (2.5, 3.11),
        (3, 2.57), (4, 2.01),
    ],
)  # fmt: skip
def test_run_lengths_of_a_cumulative_sum(shift: float, length: float) -> None:
    assert two_sided_cusum_run_length(0.5, 5, shift) == pytest.approx(length, abs=0.0051)


def test_run_length_of_one_side() -> None:
    assert cusum_run_length(0.5, 5) == pytest.approx(930.89, abs=0.005)  # Lucas (1976), from memory


def test_run_lengths_of_single_points() -> None:
    # Three sigma, no shift and one sigma; standard, from memory.
    assert shewhart_run_length(3) == pytest.approx(370.398, abs=5e-4)
    assert shewhart_run_length(3, 1) == pytest.approx(43.895, abs=5e-4)


def test_times_between_failures() -> None:
    # Nelson (1994), J. Qual. Technol. 26, 74-79; worked example of a textbook, data and figures from memory (centre
    # printed 5.38661 from rounded values; limits with d2 = 1.128).
    hours = [
        286, 948, 536, 124, 816, 729, 4, 143, 431, 8, 2837, 596, 81, 227, 603, 492, 1199, 1214, 2831, 96,
    ]  # fmt: skip
    limits = nelson_limits(hours)
    widened = chart_factors(2).d2 / 1.128
    assert limits.centre == pytest.approx(5.38662, abs=1e-5)
    assert np.array(hours[:3]) ** NELSON_POWER == pytest.approx([4.80986, 6.70903, 5.72650], abs=5e-6)
    # the distance of the limit is three mean moving ranges over d2
    assert (limits.high - limits.centre) / 3 * chart_factors(2).d2 == pytest.approx(2.3592, abs=5e-5)
    assert limits.centre + (limits.high - limits.centre) * widened == pytest.approx(11.661, abs=5e-4)
    assert limits.centre + (limits.low - limits.centre) * widened == pytest.approx(-0.888, abs=5e-4)


def test_good_items_between_bad_ones() -> None:
    # Kaminsky et al. (1992), J. Qual. Technol. 24, 63-69; Benneyan (2001): m + 3 sqrt(m (m + 1)); formula from memory.
    assert between_events_limits(10).high == pytest.approx(41.464, abs=5e-4)
