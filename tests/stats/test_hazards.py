"""The hazard model: against a reference library, by its identities, by simulation."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.stats.group_spread import fit_with_group_spread
from pipeline.stats.hazards import HazardData, HazardFit, NoEventsError, Prior, fit_hazard
from pipeline.stats.leaving_out import deletion_shifts, jackknife_variance, sandwich_covariance
from pipeline.stats.time_at_risk import count_events, event_cuts, split_time

CUTS = np.array([0, 0.2, 0.5, 1.0, 2.0, np.inf])


def simulated(seed: int = 1, n: int = 1500, p: int = 6, n_groups: int = 12, spread: float = 0.0) -> HazardData:
    rng = np.random.default_rng(seed)
    design = rng.normal(size=(n, p))
    groups = np.sort(rng.integers(0, n_groups, n))
    groups = np.unique(groups, return_inverse=True)[1]
    time = split_time(np.zeros(n), rng.uniform(0.1, 3, n), CUTS)
    effects = rng.normal(scale=spread, size=groups.max() + 1) if spread else np.zeros(groups.max() + 1)
    rate = 0.3 * np.exp(design @ np.full(p, 0.2) + effects[groups])
    return HazardData(design, time, rng.poisson(time * rate[:, None]).astype(float), groups)


def zero_fit(data: HazardData) -> HazardFit:
    """A fit to start from that knows nothing."""
    k, p, nothing = data.time.shape[1], data.design.shape[1], np.empty(0)
    return HazardFit(np.zeros(k), np.zeros(p), np.zeros(data.n_groups), nothing, nothing, 0.0, nothing, nothing)


def test_equals_a_poisson_regression_on_the_long_table() -> None:
    data = simulated()
    n, k = data.time.shape
    long = np.column_stack([np.tile(np.eye(k), (n, 1)), np.repeat(data.design, k, axis=0)])
    at_risk = data.time.ravel() > 0
    reference = sm.GLM(
        data.events.ravel()[at_risk],
        long[at_risk],
        family=sm.families.Poisson(),
        offset=np.log(data.time.ravel()[at_risk]),
    ).fit(tol=1e-13)
    fit = fit_hazard(data, Prior(np.zeros(6)))
    assert fit.beta == pytest.approx(reference.params[k:], abs=1e-10)
    assert fit.baseline == pytest.approx(reference.params[:k], abs=1e-10)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(reference.bse, rel=1e-7)


def test_a_start_on_every_tenth_row_leads_to_the_same_place() -> None:
    data, prior = simulated(n=25_000, spread=0.4), Prior(np.ones(6), 5.0)
    flat = fit_hazard(simulated(n=25_000, spread=0.4), prior, start=zero_fit(data), tolerance=1e-10)
    fit = fit_hazard(data, prior)
    assert fit.beta == pytest.approx(flat.beta, abs=1e-10)
    assert fit.group_effects == pytest.approx(flat.group_effects, abs=1e-10)


def test_clusters_give_the_errors_of_a_reference_library() -> None:
    data = simulated(spread=0.6)
    n, k = data.time.shape
    at_risk = data.time.ravel() > 0
    long = np.column_stack([np.tile(np.eye(k), (n, 1)), np.repeat(data.design, k, axis=0)])[at_risk]
    model = sm.GLM(data.events.ravel()[at_risk], long, sm.families.Poisson(), offset=np.log(data.time.ravel()[at_risk]))
    clusters = np.repeat(data.groups, k)[at_risk]
    reference = model.fit(tol=1e-13, cov_type="cluster", cov_kwds={"groups": clusters})
    rows, columns = long.shape
    covariance = sandwich_covariance(data, fit_hazard(data, Prior(np.zeros(6))))
    # the library also multiplies by (n - 1) / (n - k), where n counts rows of the long table
    assert covariance * (rows - 1) / (rows - columns) == pytest.approx(reference.cov_params(), rel=1e-6, abs=1e-12)


def test_clusters_need_two_groups_and_no_intercepts() -> None:
    data = simulated(n=200)
    with pytest.raises(ValueError, match="two groups"):
        sandwich_covariance(data, fit_hazard(data, Prior(np.zeros(6), 1.0)))


def test_a_normal_prior_is_a_ridge_penalty() -> None:
    data, precision = simulated(), np.full(6, 20.0)
    fit = fit_hazard(data, Prior(precision))
    residual = (data.events.sum(axis=1) - fit.expected) @ data.design
    assert residual == pytest.approx(precision * fit.beta, abs=1e-6)


def test_eliminating_groups_equals_fitting_their_columns() -> None:
    data = simulated(spread=0.4)
    precision = 4.0
    pooled = fit_hazard(data, Prior(np.zeros(6), precision))
    marks = (data.groups[:, None] == np.arange(data.n_groups)[None, :]).astype(float)
    as_columns = HazardData(np.column_stack([data.design, marks]), data.time, data.events, np.zeros_like(data.groups))
    full = fit_hazard(as_columns, Prior(np.concatenate([np.zeros(6), np.full(data.n_groups, precision)])))
    assert pooled.beta == pytest.approx(full.beta[:6], abs=1e-8)
    assert pooled.group_effects == pytest.approx(full.beta[6:], abs=1e-8)
    assert np.diag(pooled.beta_covariance) == pytest.approx(np.diag(full.beta_covariance)[:6], rel=1e-6)


def test_one_newton_step_deletes_a_group_almost_as_a_refit_does() -> None:
    data, prior = simulated(spread=0.4), Prior(np.full(6, 1.0), 5.0)
    fit = fit_hazard(data, prior, by_group=True)
    shifts = deletion_shifts(data, prior, fit)
    for group in range(3):
        rows = data.groups != group
        kept = np.unique(data.groups[rows], return_inverse=True)[1]
        refit = fit_hazard(HazardData(data.design[rows], data.time[rows], data.events[rows], kept), prior)
        exact = np.concatenate([refit.baseline - fit.baseline, refit.beta - fit.beta])
        assert shifts[group] == pytest.approx(exact, abs=0.12 * np.abs(exact).max() + 1e-4)


def test_a_group_can_be_left_out_of_a_fit_by_group_only() -> None:
    data, prior = simulated(n=200), Prior(np.ones(6), 5.0)
    with pytest.raises(ValueError, match="by_group"):
        deletion_shifts(data, prior, fit_hazard(data, prior))


def test_the_jackknife_of_a_mean_is_its_textbook_variance() -> None:
    # Efron and Stein (1981): for a mean the delete-one jackknife is s squared over n, exactly.
    values = np.array([3.0, 5.0, 8.0, 1.0, 7.0])
    shifts = np.array([[np.delete(values, i).mean() - values.mean()] for i in range(5)])
    assert jackknife_variance(shifts)[0] == pytest.approx(values.var(ddof=1) / 5)


def test_one_group_has_no_jackknife() -> None:
    assert np.isnan(jackknife_variance(np.zeros((1, 3)))).all()


def test_no_events_is_said() -> None:
    data = simulated(n=50)
    with pytest.raises(NoEventsError):
        fit_hazard(HazardData(data.design, data.time, np.zeros_like(data.events), data.groups), Prior(np.zeros(6)))


def test_separation_gives_a_finite_ratio_under_the_log_f_prior() -> None:
    time = np.ones((40, 1))
    exposed = (np.arange(40) < 8).astype(float)[:, None]
    events = ((np.arange(40) >= 8) & (np.arange(40) % 3 == 0)).astype(float)[:, None]
    fit = fit_hazard(HazardData(exposed, time, events, np.zeros(40, int)), Prior(np.zeros(1), None, np.ones(1)))
    assert -8 < fit.beta[0] < 0
    # Greenland and Mansournia (2015): log-F(1,1) is half a success and half a failure on one more record
    assert np.isfinite(fit.covariance).all()


def test_the_spread_of_groups_is_recovered() -> None:
    found = [
        fit_with_group_spread(simulated(seed, n=4000, n_groups=24, spread=0.5), np.ones(6))[1] for seed in range(6)
    ]
    assert np.mean(found) == pytest.approx(0.5, abs=0.1)
    none = [fit_with_group_spread(simulated(seed, n=4000, n_groups=24), np.ones(6))[1] for seed in range(4)]
    assert np.mean(none) < 0.2


@given(st.floats(0, 5), st.floats(0, 5), st.lists(st.floats(0.01, 4), max_size=5, unique=True))
@settings(max_examples=60, deadline=None)
def test_split_time_keeps_all_the_time(entry: float, leave: float, inner: list[float]) -> None:
    cuts = np.array([0.0, *sorted(inner), np.inf])
    assert split_time([entry], [leave], cuts).sum() == pytest.approx(max(leave - entry, 0.0))


def test_intervals_hold_about_as_many_events_each() -> None:
    ages = np.random.default_rng(0).exponential(size=500)
    cuts = event_cuts(ages)
    counts = count_events(np.arange(500), ages, 500, cuts).sum(axis=0)
    assert len(counts) == 5
    assert counts.min() >= 95
    assert event_cuts(ages[:12]).tolist() == [0.0, np.inf]
