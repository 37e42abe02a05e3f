"""Natural splines: against another library's basis and Poisson regression, by what they are, by a known truth."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from patsy import dmatrix

from pipeline.stats.hazards import HazardData, Prior, fit_hazard
from pipeline.stats.splines import bends_over, harrell_knots, restricted_cubic

EXPOSURE = np.random.default_rng(3).gamma(2.0, 1.5, 3000)


def basis(values: np.ndarray, knots: np.ndarray) -> np.ndarray:
    return np.column_stack([np.ones(len(values)), values, restricted_cubic(values, knots)])


@pytest.mark.parametrize("n_knots", [3, 4, 5])
def test_the_columns_span_the_natural_splines_of_another_library(n_knots: int) -> None:
    # patsy's cr: the cardinal basis of natural cubic splines (Wood 2006, section 4.1.2), another way of writing them
    knots = harrell_knots(EXPOSURE, n_knots)
    inside = np.linspace(knots[0], knots[-1], 200)
    cardinal = np.asarray(
        dmatrix(
            "cr(x, knots=inner, lower_bound=low, upper_bound=high) - 1",
            {"x": inside, "inner": knots[1:-1], "low": knots[0], "high": knots[-1]},
        )
    )
    ours = basis(inside, knots)
    assert ours.shape == cardinal.shape
    left = ours - cardinal @ np.linalg.lstsq(cardinal, ours, rcond=None)[0]
    assert np.abs(left).max() < 1e-9


def test_knots_stand_at_the_published_quantiles() -> None:
    # Harrell (2015), Regression Modeling Strategies, table 2.3 (from memory)
    percents = np.arange(0.0, 101.0)
    assert harrell_knots(percents, 3) == pytest.approx([10, 50, 90])
    assert harrell_knots(percents, 4) == pytest.approx([5, 35, 65, 95])
    assert harrell_knots(percents, 5) == pytest.approx([5, 27.5, 50, 72.5, 95])


def test_a_value_that_most_share_is_a_knot_and_the_others_give_the_rest() -> None:
    values = np.concatenate([np.zeros(900), np.linspace(1, 5, 101)])
    assert harrell_knots(values, 3) == pytest.approx([0, 3, 4.8])


@pytest.mark.parametrize("values", [np.repeat([0.0, 1.0], 50), np.repeat([0.0, 1.0], [99, 1]), np.repeat(2.0, 30)])
def test_two_distinct_values_leave_a_straight_line(values: np.ndarray) -> None:
    bends = bends_over(values, 4)
    assert bends.n_columns == 0
    assert bends.columns(values).shape == (len(values), 0)


@given(st.lists(st.floats(-50, 50), min_size=6, max_size=60, unique=True))
@settings(max_examples=60, deadline=None)
def test_a_natural_spline_is_straight_beyond_its_outer_knots(numbers: list[float]) -> None:
    knots = harrell_knots(np.array(numbers), 3)
    if len(knots) < 3 or np.diff(knots).min() < 1e-3:
        return
    width = knots[-1] - knots[0]
    for end in (knots[0] - width * np.arange(4), knots[-1] + width * np.arange(4)):
        columns = restricted_cubic(end, knots)
        assert np.abs(np.diff(columns, n=2, axis=0)).max() <= 1e-6 * max(1.0, np.abs(columns).max())


def test_bends_have_no_straight_part_and_spread_one() -> None:
    columns = bends_over(EXPOSURE, 4).columns(EXPOSURE)
    assert columns.mean(axis=0) == pytest.approx(0, abs=1e-9)
    assert columns.std(axis=0) == pytest.approx(1)
    assert columns.T @ (EXPOSURE - EXPOSURE.mean()) / len(EXPOSURE) == pytest.approx(0, abs=1e-9)


def simulated(shape, seed: int = 5, n: int = 20_000) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    values, time = rng.gamma(2.0, 1.5, n), rng.uniform(0.5, 3.0, n)
    return values, time, rng.poisson(time * 0.1 * np.exp(shape(values))).astype(float)


def curve_of(values: np.ndarray, time: np.ndarray, events: np.ndarray, at: np.ndarray) -> np.ndarray:
    """The fitted log hazard at these values, relative to the first."""
    bends = bends_over(values, 5)
    design = np.column_stack([values, bends.columns(values)])
    data = HazardData(design, time[:, None], events[:, None], np.zeros(len(values), int))
    fit = fit_hazard(data, Prior(np.zeros(design.shape[1])))
    log_hazard = np.column_stack([at, bends.columns(at)]) @ fit.beta
    return log_hazard - log_hazard[0]


def threshold(values: np.ndarray) -> np.ndarray:
    """No risk up to 3, then ever more: no straight line comes near."""
    return 0.5 * np.maximum(values - 3, 0)


def test_a_bent_truth_is_found_as_by_another_library() -> None:
    values, time, events = simulated(threshold)
    at = np.quantile(values, np.linspace(0.05, 0.95, 15))
    ours = curve_of(values, time, events, at)
    knots = harrell_knots(values, 5)
    theirs = sm.GLM(events, basis(values, knots), family=sm.families.Poisson(), offset=np.log(time)).fit(tol=1e-12)
    predicted = basis(at, knots) @ theirs.params
    assert ours == pytest.approx(predicted - predicted[0], abs=1e-6)
    truth = threshold(at) - threshold(at)[0]
    assert np.abs(ours - truth).max() < 0.15
    straight = np.polyval(np.polyfit(at, ours, 1), at)
    assert np.abs(straight - truth).max() > 0.25  # what a straight line would have said


def test_a_straight_truth_gives_a_straight_line() -> None:
    values, time, events = simulated(lambda value: 0.3 * value)
    at = np.quantile(values, np.linspace(0.05, 0.95, 15))
    ours = curve_of(values, time, events, at)
    assert ours[0] == 0
    assert np.abs(ours - 0.3 * (at - at[0])).max() < 0.1
