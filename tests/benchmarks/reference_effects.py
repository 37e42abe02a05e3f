"""The effects of every deviation on every fault and the expected callbacks of every crew, by statsmodels.

The long way that a careful analyst would take: one row per door and age interval, Poisson regression with the log of
time at risk as offset, interval and crew marks as columns. statsmodels gives likelihood, score and Hessian; priors on
coefficients are added to them here, and steps are Newton's.
"""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import pandas as pd
from scipy import optimize, special, stats
from statsmodels.discrete.discrete_model import Poisson

YEAR = 365.25
Z95 = 1.959964
STEPS = ("survey", "sill", "frame", "hanging", "glazing", "adjustment", "sealing", "handover")
# deviation: step, family, is an act, contrast the ratio is stated for, better side is higher
FACTS = {
    "sill_level_error": ("sill", "sill_level_error", False, 1.0, False),
    "sill_bow": ("sill", "sill_bow", False, 1.0, False),
    "sill_chord_bow": ("sill", "sill_bow", False, 1.0, False),
    "frame_diagonal_difference": ("frame", "frame_diagonal_difference", False, 1.0, False),
    "frame_racking": ("frame", "frame_diagonal_difference", False, 1.0, False),
    "jamb_plumb_error": ("frame", "jamb_plumb_error", False, 1.0, False),
    "jamb_lean_out": ("frame", "jamb_plumb_error", False, 1.0, False),
    "jamb_twist": ("frame", "jamb_twist", False, 1.0, False),
    "head_parallel_error": ("frame", "head_parallel_error", False, 1.0, False),
    "head_bow": ("frame", "head_bow", False, 1.0, False),
    "fixing_spacing": ("frame", "fixing_spacing", True, 50.0, False),
    "fixing_corner_distance": ("frame", "fixing_corner_distance", True, 50.0, True),
    "fixing_shortfall": ("frame", "fixing_spacing", True, 1.0, False),
    "head_gap_spread": ("hanging", "head_gap_spread", False, 1.0, False),
    "leaf_diagonal_difference": ("glazing", "leaf_diagonal_difference", False, 1.0, False),
}
NUMBERS = ("leaves", "width_mm", "height_mm", "leaf_weight_kg")
WORDS = ("product", "storey", "exposure", "substrate", "work")
ADJUSTER = 1 / 0.35**2  # prior precision of another deviation's coefficient


def standardised(values: pd.Series | pd.DataFrame) -> pd.Series | pd.DataFrame:
    """In standard deviations from the mean."""
    return (values - values.mean()) / values.std(ddof=0)


def door_columns(doors: pd.DataFrame) -> pd.DataFrame:
    """The door itself: standardised numbers, and one column a level of each word, season and year."""
    words = doors[list(WORDS)].assign(
        finish=doors["material"] + " " + doors["colour"],
        season=(doors["fitted_on"].dt.month % 12 // 3).astype(str),
        year=doors["fitted_on"].dt.year.astype(str),
    )
    columns = pd.concat([standardised(doors[list(NUMBERS)]), pd.get_dummies(words, dtype=float)], axis=1)
    return columns.loc[:, columns.max() > columns.min()]


@dataclass
class Regression:
    """One penalised Poisson regression on a long table.

    exog (m, q); precision (q,) of normal priors; log_f (q,) contrast sizes of log-F(1,1) priors, 0 for none
    """

    endog: np.ndarray
    exog: np.ndarray
    offset: np.ndarray
    precision: np.ndarray
    log_f: np.ndarray
    params: np.ndarray = field(default_factory=lambda: np.empty(0))

    @cached_property
    def model(self) -> Poisson:
        """statsmodels' Poisson model."""
        return Poisson(self.endog, self.exog, offset=self.offset, check_rank=False)

    def fit(self, start: np.ndarray) -> "Regression":
        """Newton steps from `start` until none is larger than a millionth of a standard error."""
        self.params = start.copy()
        for _ in range(50):
            information = self.information()
            step = np.linalg.solve(information, self.model.score(self.params) + self._pull())
            self.params = self.params + step
            if np.max(np.abs(step) * np.sqrt(np.diag(information))) < 1e-6:
                return self
        raise RuntimeError("the fit does not settle")

    def information(self) -> np.ndarray:
        """Negative Hessian of the penalised log likelihood."""
        p = special.expit(self.params * self.log_f)
        return -self.model.hessian(self.params) + np.diag(self.precision + self.log_f**2 * p * (1 - p))

    def penalised(self) -> float:
        """Log likelihood without constants, less the normal priors."""
        linear = self.exog @ self.params + self.offset
        likelihood = self.endog @ (linear - self.offset) - np.exp(linear).sum()
        return float(likelihood - 0.5 * self.precision @ self.params**2)

    def _pull(self) -> np.ndarray:
        return -self.precision * self.params + self.log_f * (0.5 - special.expit(self.params * self.log_f))


@dataclass
class Events:
    """First events of one kind as a long table, doors sorted by crew: row numbers of doors, marks, events, log time."""

    door: np.ndarray
    marks: np.ndarray
    endog: np.ndarray
    offset: np.ndarray
    n_intervals: int
    crew_edges: np.ndarray

    @cached_property
    def start(self) -> np.ndarray:
        """Crude log rates of the intervals, and no difference between crews."""
        intervals = self.marks[:, : self.n_intervals]
        crude = np.log((self.endog @ intervals) / (np.exp(self.offset) @ intervals))
        return np.r_[crude, np.zeros(self.marks.shape[1] - self.n_intervals)]


def long_table(entry: np.ndarray, leave: np.ndarray, events: tuple[np.ndarray, np.ndarray], crew: np.ndarray) -> Events:
    """Splits each door's time at five quantiles of the ages at events.

    entry, leave  (n,) ages in years; events: door numbers and ages; crew (n,) numbers in ascending order
    """
    rows, ages = events
    cuts = np.r_[0.0, np.quantile(ages, [0.2, 0.4, 0.6, 0.8]), np.inf]
    time = np.clip(np.minimum(leave[:, None], cuts[1:]) - np.maximum(entry[:, None], cuts[:-1]), 0, None)
    counts = np.zeros_like(time)
    np.add.at(counts, (rows, np.searchsorted(cuts, ages, side="left") - 1), 1)
    door, interval = np.nonzero(time)
    n_crews = int(crew.max()) + 1
    marks = np.hstack([interval[:, None] == np.arange(5), crew[door][:, None] == np.arange(n_crews)]).astype(float)
    edges = np.searchsorted(crew[door], np.arange(n_crews + 1))
    return Events(door, marks, counts[door, interval], np.log(time[door, interval]), 5, edges)


def crew_spread(events: Events, covariates: np.ndarray) -> tuple[Regression, float]:
    """The regression on the door alone, and the standard deviation of crews that its Laplace likelihood supports."""
    exog = np.hstack([events.marks, covariates[events.door]])
    k, q = events.n_intervals, exog.shape[1]
    n_crews = len(events.crew_edges) - 1
    is_crew = (np.arange(q) >= k) & (np.arange(q) < k + n_crews)
    found = Regression(events.endog, exog, events.offset, np.where(np.arange(q) < k, 0.0, 1.0), np.zeros(q))
    found.params = np.r_[events.start, np.zeros(covariates.shape[1])]

    def loss(log_sd: float) -> float:
        found.precision[is_crew] = np.exp(-2 * log_sd)
        found.fit(found.params)
        determinant = np.linalg.slogdet(found.information())[1]
        return -(found.penalised() - n_crews * log_sd - 0.5 * determinant) - log_sd

    bounds = (np.log(0.03), np.log(2.0))
    best = optimize.minimize_scalar(loss, bounds=bounds, method="bounded", options={"xatol": 0.05})
    loss(best.x)
    return found, float(np.exp(best.x))


def expected_counts(events: Events, covariates: np.ndarray) -> np.ndarray:
    """(G,) callbacks expected of each crew's doors in the hands of an average crew, summing to those seen.

    Crews are hardly pooled beside the case mix: sd 2 on the log hazard.
    """
    fit, _ = crew_spread(events, covariates)
    k, n_crews = events.n_intervals, len(events.crew_edges) - 1
    fit.precision[k : k + n_crews] = 2.0**-2
    fit.fit(fit.params)
    without_crews = np.r_[fit.params[:k], np.zeros(n_crews), fit.params[k + n_crews :]]
    means = np.exp(fit.exog @ without_crews + events.offset)
    totals = np.add.reduceat(means, events.crew_edges[:-1])
    return totals * events.endog.sum() / totals.sum()


def effects(events: Events, covariates: np.ndarray, values: pd.DataFrame, crew: np.ndarray) -> pd.DataFrame:
    """One row a deviation: ratio, interval and p-value.

    covariates (n, c) and values (n doors, deviations), doors sorted by crew
    """
    scaled = standardised(values)
    crew_means = scaled.groupby(crew).transform("mean")
    base, sd = crew_spread(events, covariates)
    found = []
    for name in FACTS:
        others = _adjusters(name)
        doors = np.column_stack([scaled[name], crew_means[name], covariates, scaled[others]])
        precision = np.r_[
            np.zeros(events.n_intervals), np.full(len(events.crew_edges) - 1, sd**-2),
            0.0, 1.0, np.ones(covariates.shape[1]), np.full(len(others), ADJUSTER),
        ]  # fmt: skip
        start = np.r_[base.params[: len(events.start)], 0, 0, base.params[len(events.start) :], np.zeros(len(others))]
        found.append(_effect(events, doors, (precision, start), values[name]))
    return pd.DataFrame(found, index=pd.Index(FACTS, name="deviation"))


def _adjusters(name: str) -> list[str]:
    """Causes of other families that come before: of earlier steps, or of the same, but acts never for geometry."""
    step, family, is_act, _, _ = FACTS[name]
    return [
        other
        for other, (its_step, its_family, its_act, _, _) in FACTS.items()
        if other == its_family and its_family != family
        and (STEPS.index(its_step) < STEPS.index(step) or (its_step == step and (its_act or not is_act)))
    ]  # fmt: skip


def _effect(
    events: Events, doors: np.ndarray, prior: tuple[np.ndarray, np.ndarray], values: pd.Series
) -> dict[str, float]:
    exog = np.hstack([events.marks, doors[events.door]])
    precision, start = prior
    studied = events.marks.shape[1]
    low, high = np.quantile(values, [0.1, 0.9])
    deviation = values.std(ddof=0)
    log_f = np.where(np.arange(exog.shape[1]) == studied, (high - low) / deviation, 0.0)
    fit = Regression(events.endog, exog, events.offset, precision, log_f).fit(start)
    covariance = np.linalg.inv(fit.information())
    own = covariance[studied, studied]
    crews = _jackknife(events, fit)[studied]
    error = np.sqrt(max(own, (own + crews) / 2))
    per = FACTS[str(values.name)][3] / deviation
    estimate = fit.params[studied]
    return {
        "hazard_ratio": np.exp(estimate * per),
        "hr_low": np.exp((estimate - Z95 * error) * per),
        "hr_high": np.exp((estimate + Z95 * error) * per),
        "p_value": 2 * stats.norm.sf(abs(estimate) / error),
    }


def _jackknife(events: Events, fit: Regression) -> np.ndarray:
    """(q,) variance by leaving out one crew at a time, each by one Newton step; nan for the crews' own marks."""
    n_crews, k = len(events.crew_edges) - 1, events.n_intervals
    mean = np.exp(fit.exog @ fit.params + events.offset)
    full = fit.information()
    others = np.r_[np.arange(k), np.arange(k + n_crews, len(full))]
    marks = np.arange(k, k + n_crews)
    cross, curvature = full[np.ix_(marks, others)], np.diag(full)[marks]
    total = full[np.ix_(others, others)] - (cross / curvature[:, None]).T @ cross
    ridge = 1e-9 * np.trace(total) / len(total) * np.eye(len(total))
    shifts = np.empty((n_crews, len(others)))
    for crew, (first, last) in enumerate(zip(events.crew_edges[:-1], events.crew_edges[1:], strict=True)):
        exog, m = fit.exog[first:last][:, others], mean[first:last]
        own = (exog * m[:, None]).T @ exog - np.outer(cross[crew], cross[crew]) / curvature[crew]
        shifts[crew] = np.linalg.solve(total - own + ridge, exog.T @ (m - events.endog[first:last]))
    variance = np.full(len(full), np.nan)
    variance[others] = (n_crews - 1) / n_crews * ((shifts - shifts.mean(axis=0)) ** 2).sum(axis=0)
    return variance
