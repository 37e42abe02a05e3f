"""The dose-response curve of a pair: a bent truth is found, as by another library; a straight one stays straight."""

import numpy as np
import pytest
import statsmodels.api as sm

from pipeline.catalogue import catalogue_tables, load_catalogue
from pipeline.model.adjusters import places
from pipeline.model.covariates import Columns
from pipeline.model.dose_curve import DoseCurve, Grid, bent_design, dose_curve, grid_of
from pipeline.model.pair_design import Firm, PairDesign, adjuster_columns, pair_design
from pipeline.model.pair_fit import FaultBase, fault_base, fit_pair
from pipeline.model.risk import FirstFaults
from pipeline.stats.splines import harrell_knots, restricted_cubic

PLACES = places(catalogue_tables(load_catalogue())["catalogue_deviations"])
NAME, LOWER = "sill_level_error", "fixing_corner_distance"
N, CREWS = 12_000, 12


def bent(value: np.ndarray) -> np.ndarray:
    """Nothing up to 2.5 mm, then a doubling a millimetre."""
    return np.log(2) * np.maximum(value - 2.5, 0)


def straight(value: np.ndarray) -> np.ndarray:
    return 0.4 * value


def studied(shape, name: str = NAME, scale: float = 1.0, seed: int = 1) -> tuple[PairDesign, FaultBase]:
    """Doors of careful and careless crews, two traits, one interval of age; the risk of a door has this shape."""
    rng = np.random.default_rng(seed)
    groups = np.sort(rng.integers(0, CREWS, N))
    traits = rng.normal(size=(N, 2))
    mm = rng.gamma(2.0, 0.9, N) * np.linspace(0.7, 1.3, CREWS)[groups]
    watched = rng.uniform(0.5, 3.0, N)
    age = rng.exponential(1 / (0.05 * np.exp(shape(mm) + traits @ [0.3, -0.2])), N)
    time, events = np.minimum(age, watched), (age < watched).astype(float)
    values = np.full((N, len(PLACES)), np.nan)
    values[:, PLACES[name].ordinal] = scale * mm
    firm = Firm(groups, Columns(("width", "height"), traits, np.ones(2)), values, PLACES)
    design = pair_design(firm, PLACES[name], adjuster_columns(firm))
    faults = FirstFaults(time[:, None], events[:, None], np.array([0.0, np.inf]))
    base = fault_base(faults, groups, firm.covariates, {})
    assert design is not None
    assert base is not None
    return design, base


def curve_of(design: PairDesign, base: FaultBase, n_knots: int = 4) -> tuple[DoseCurve, Grid]:
    grid = grid_of(design)
    assert grid is not None
    return dose_curve(bent_design(design, n_knots), base, grid), grid


def test_a_bent_truth_is_found_within_its_interval_and_no_straight_line_would_do() -> None:
    design, base = studied(bent)
    found, grid = curve_of(design, base)
    truth = bent(grid.values) - bent(grid.values[grid.reference])
    held = (found.curve.low <= truth) & (truth <= found.curve.high)
    assert held.mean() > 0.9
    assert np.abs(found.curve.log_ratios - truth).max() < 0.3
    line = fit_pair(design, base).log_ratio / design.spread * (grid.values - grid.values[grid.reference])
    assert np.abs(line - truth).max() > 0.5


def test_the_curve_is_that_of_a_poisson_regression_in_another_library() -> None:
    # the same model without its weak priors and with crews as free intercepts: its errors are up to a tenth larger
    design, base = studied(bent)
    found, grid = curve_of(design, base)
    knots = harrell_knots(design.values, 4)

    def columns(values: np.ndarray) -> np.ndarray:
        return np.column_stack([values, restricted_cubic(values, knots)])

    time, events = base.faults.time[:, 0], base.faults.events[:, 0]
    crews = np.eye(CREWS)[design.groups]
    regressors = np.column_stack([columns(design.values), design.matrix[:, 2:], crews])
    theirs = sm.GLM(events, regressors, family=sm.families.Poisson(), offset=np.log(time)).fit()
    at = columns(grid.values)
    expected = (at - at[grid.reference]) @ theirs.params[:3]
    assert found.curve.log_ratios == pytest.approx(expected, abs=0.05)
    errors = np.sqrt(np.diag((at - at[grid.reference]) @ theirs.cov_params()[:3, :3] @ (at - at[grid.reference]).T))
    own = found.curve.covariance
    forms = ((found.curve.contrasts @ own) * found.curve.contrasts).sum(axis=1)
    assert np.sqrt(forms) == pytest.approx(errors, rel=0.12, abs=1e-9)


def test_a_straight_truth_stays_straight_and_is_the_headline() -> None:
    design, base = studied(straight)
    found, grid = curve_of(design, base)
    steps = grid.values - grid.values[grid.reference]
    assert np.abs(found.curve.log_ratios - 0.4 * steps).max() < 0.25
    assert found.curve.log_ratios[grid.reference] == 0
    assert found.curve.errors[grid.reference] == 0


def test_with_two_values_only_the_curve_is_exactly_the_headline() -> None:
    design, base = studied(straight)
    line = bent_design(design, 4)
    grid = grid_of(design)
    assert grid is not None
    no_bends = type(line)(bends=type(line.bends)(*[np.empty(0)] * 4), columns=design)
    found, headline = dose_curve(no_bends, base, grid), fit_pair(design, base)
    steps = (grid.values - grid.values[grid.reference]) / design.spread
    assert found.curve.log_ratios == pytest.approx(headline.log_ratio * steps)
    assert found.curve.errors == pytest.approx(headline.error * np.abs(steps))


def test_where_lower_is_worse_the_reference_is_at_the_upper_end() -> None:
    design, base = studied(straight, LOWER, scale=-40.0)
    found, grid = curve_of(design, base)
    assert grid.values[grid.reference] > np.quantile(design.values, 0.8)
    assert found.curve.log_ratios[0] > 0.5


def test_the_grid_stays_where_the_doors_are() -> None:
    design, _ = studied(straight)
    grid = grid_of(design)
    assert grid is not None
    low, high = np.quantile(design.values, [0.025, 0.975])
    assert low <= grid.values[0] < grid.values[-1] <= high
    assert (grid.doors > 0).all()
    assert len(grid.values) <= 25
    assert np.bincount(grid.bins).sum() == N
    # doors beyond the ends stand in no row of dose_response
    assert 0.9 * N < grid.doors.sum() < N


def test_doors_that_share_two_values_have_no_curve() -> None:
    rng = np.random.default_rng(1)
    values = np.full((200, len(PLACES)), np.nan)
    values[:, PLACES[NAME].ordinal] = rng.integers(0, 2, 200)
    firm = Firm(np.zeros(200, int), Columns((), np.zeros((200, 0)), np.zeros(0)), values, PLACES)
    design = pair_design(firm, PLACES[NAME], {})
    assert design is not None
    assert grid_of(design) is None
