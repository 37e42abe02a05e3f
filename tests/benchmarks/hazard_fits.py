"""One hazard fit by this project and by general libraries, each with no more steps than it takes to be precise enough.

The problem: doors with independent covariates, one fault, five age intervals, crews as clusters. The libraries are
given the long table (one row per door and interval with time at risk) ready made; only the fit is timed.
"""

import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from pipeline.stats.hazards import HazardData, HazardFit, Prior, fit_hazard
from pipeline.stats.intervals import Floats
from pipeline.stats.leaving_out import sandwich_covariance
from pipeline.stats.time_at_risk import count_events, event_cuts, split_time

PRECISION = 1e-8  # every coefficient, against a fit taken to the last digit
MOST_STEPS = 30
NEVER = 1e-14  # a tolerance that never stops a fit: its steps are counted instead


@dataclass(frozen=True)
class Problem:
    """Doors sorted by crew, and the same as a long table."""

    data: HazardData

    @cached_property
    def at_risk(self) -> np.ndarray:
        """Cells of door and interval with time at risk, flat."""
        return self.data.time.ravel() > 0

    @cached_property
    def interval(self) -> np.ndarray:
        """(m,) interval of each row of the long table."""
        n, k = self.data.time.shape
        return np.tile(np.arange(k), n)[self.at_risk]

    @cached_property
    def long(self) -> Floats:
        """(m, K + p) interval marks and covariates, column after column in memory, as the libraries like it."""
        n, k = self.data.time.shape
        marks = np.tile(np.eye(k), (n, 1))
        return np.asfortranarray(np.column_stack([marks, np.repeat(self.data.design, k, axis=0)])[self.at_risk])

    @cached_property
    def time(self) -> Floats:
        """(m,) years at risk."""
        return self.data.time.ravel()[self.at_risk]

    @cached_property
    def events(self) -> Floats:
        """(m,) events."""
        return self.data.events.ravel()[self.at_risk]

    @cached_property
    def clusters(self) -> np.ndarray:
        """(m,) crew of each row."""
        return np.repeat(self.data.groups, self.data.time.shape[1])[self.at_risk]

    @cached_property
    def exact(self) -> HazardFit:
        """This project's fit, taken to the last digit."""
        return fit_hazard(self.data, Prior(np.zeros(self.data.design.shape[1])), tolerance=1e-13)

    @cached_property
    def start(self) -> Floats:
        """(K + p,) crude log rates of the intervals and zeros: where a careful user lets a library start."""
        crude = self.data.events.sum(axis=0) / self.data.time.sum(axis=0)
        return np.concatenate([np.log(crude), np.zeros(self.data.design.shape[1])])

    @property
    def parameters(self) -> Floats:
        """(K + p,) of the exact fit."""
        return np.concatenate([self.exact.baseline, self.exact.beta])


Fit = Callable[[Problem, int], Floats]


def make_problem(doors: int = 100_000, columns: int = 25, crews: int = 24, seed: int = 1) -> Problem:
    """Doors watched for up to two and a half years, about a fifth of them with an event, crews that differ."""
    rng = np.random.default_rng(seed)
    design = rng.normal(size=(doors, columns))
    groups = np.sort(rng.integers(0, crews, doors))
    log_rate = np.log(0.13) + design @ rng.normal(scale=0.15, size=columns) + rng.normal(scale=0.3, size=crews)[groups]
    fails = rng.exponential(size=doors) / np.exp(log_rate)
    leaves = rng.uniform(0.2, 2.5, doors)
    rows = np.flatnonzero(fails < leaves)
    cuts = event_cuts(fails[rows])
    time_at_risk = split_time(np.zeros(doors), np.minimum(fails, leaves), cuts)
    return Problem(HazardData(design, time_at_risk, count_events(rows, fails[rows], doors, cuts), groups))


def by_project(problem: Problem, steps: int) -> Floats:
    """`fit_hazard`; `steps` is the number of digits asked of its tolerance."""
    fit = fit_hazard(problem.data, Prior(np.zeros(problem.data.design.shape[1])), tolerance=10.0**-steps)
    return np.concatenate([fit.baseline, fit.beta])


def by_glum(problem: Problem, steps: int) -> Floats:
    """glum on one dense matrix from the crude rates: from its own start its line search stalls before 1e-8.

    Its split matrix of categories and numbers was slower.
    """
    from glum import GeneralizedLinearRegressor

    model = GeneralizedLinearRegressor(
        family="poisson", alpha=0, fit_intercept=False, gradient_tol=NEVER, max_iter=steps, start_params=problem.start
    )
    model.fit(problem.long, problem.events / problem.time, sample_weight=problem.time)
    return np.asarray(model.coef_)


def by_scikit_learn(problem: Problem, steps: int) -> Floats:
    """scikit-learn with Newton steps by Cholesky; with an intercept instead of the first interval it starts better."""
    from sklearn.linear_model import PoissonRegressor

    model = PoissonRegressor(alpha=0, solver="newton-cholesky", tol=NEVER, max_iter=steps)
    model.fit(problem.long[:, 1:], problem.events / problem.time, sample_weight=problem.time)
    k = problem.data.time.shape[1]
    return np.concatenate([[model.intercept_], model.intercept_ + model.coef_[: k - 1], model.coef_[k - 1 :]])


def by_statsmodels(problem: Problem, steps: int) -> Floats:
    """statsmodels, iteratively reweighted least squares."""
    return np.asarray(_statsmodels_model(problem).fit(start_params=problem.start, tol=NEVER, maxiter=steps).params)


def statsmodels_clustered(problem: Problem) -> Floats:
    """(K + p,) clustered standard errors by statsmodels, without its factor (n - 1) / (n - k) of the long table."""
    fit = _statsmodels_model(problem).fit(tol=1e-13, cov_type="cluster", cov_kwds={"groups": problem.clusters})
    rows, columns = problem.long.shape
    return np.asarray(fit.bse) / np.sqrt((rows - 1) / (rows - columns))


def project_clustered(problem: Problem) -> Floats:
    """(K + p,) clustered standard errors by `sandwich_covariance`."""
    return np.sqrt(np.diag(sandwich_covariance(problem.data, problem.exact)))


def _statsmodels_model(problem: Problem):
    import statsmodels.api as sm

    return sm.GLM(problem.events, problem.long, family=sm.families.Poisson(), offset=np.log(problem.time))


LIBRARIES: dict[str, Fit] = {"glum": by_glum, "scikit-learn": by_scikit_learn, "statsmodels": by_statsmodels}


def fewest_steps(problem: Problem, fit: Fit) -> int:
    """The fewest steps after which every coefficient is within PRECISION of the exact fit.

    Raises ValueError where MOST_STEPS are not enough.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that the fit was stopped is meant
        for steps in range(1, MOST_STEPS):
            if np.abs(fit(problem, steps) - problem.parameters).max() <= PRECISION:
                return steps
    raise ValueError(f"{fit.__name__} does not come within {PRECISION} of the exact coefficients")


def seconds(problem: Problem, fit: Fit, steps: int) -> float:
    """Time of one fit."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        started = time.perf_counter()
        fit(problem, steps)
        return time.perf_counter() - started
