"""What each crew's doors would have brought in the hands of an average crew, and how sure that is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.model.covariates import Columns
from pipeline.stats.group_spread import fit_with_group_spread
from pipeline.stats.hazards import HazardData, HazardFit, NoEventsError
from pipeline.stats.intervals import Floats


@dataclass(frozen=True)
class ExpectedCounts:
    """expected (G,): callbacks of each crew's doors with an average crew, summing to all callbacks seen.

    log_error (G,): standard error of its logarithm from the case-mix coefficients
    over_dispersion: variance of a crew's count over its mean, from doors that differ beyond what is recorded; 1 or more
    """

    expected: Floats
    log_error: Floats
    over_dispersion: float


def expected_counts(
    covariates: Columns, time: Floats, events: Floats, groups: NDArray[np.int64]
) -> ExpectedCounts | None:
    """Coefficients fitted with crews in the model, expected counts computed without them; None without any event.

    covariates (n rows), time (n, K), events (n, K), groups (n,) crew numbers 0..G-1 in ascending order
    Deviations stay out: they are what a crew answers for.
    Source of indirect standardisation: Breslow and Day (1987), Statistical Methods in Cancer Research II, chapter 2.
    """
    try:
        data = HazardData(covariates.matrix, time, events, groups)
        fit, _ = fit_with_group_spread(data, covariates.precision)
    except NoEventsError:
        return None
    means = time * np.exp(fit.baseline)[None, :] * np.exp(covariates.matrix @ fit.beta)[:, None]
    by_group = np.zeros((data.n_groups, means.shape[1] + covariates.matrix.shape[1]))
    np.add.at(by_group, groups, np.column_stack([means, covariates.matrix * means.sum(axis=1)[:, None]]))
    totals = by_group[:, : means.shape[1]].sum(axis=1)
    expected = totals * events.sum() / totals.sum()
    return ExpectedCounts(expected, _log_errors(by_group, totals, fit), _over_dispersion(events, fit))


def _log_errors(by_group: Floats, totals: Floats, fit: HazardFit) -> Floats:
    """Delta method on log(expected of the group / expected of all)."""
    safe = np.where(totals > 0, totals, 1.0)
    gradient = by_group / safe[:, None] - by_group.sum(axis=0) / totals.sum()
    variance = np.einsum("gq,qr,gr->g", gradient, fit.covariance, gradient)
    return np.where(totals > 0, np.sqrt(np.maximum(variance, 0.0)), 0.0)


def _over_dispersion(events: Floats, fit: HazardFit) -> float:
    # pooled over doors rather than door by door: a door expects a few hundredths of a callback, and squares divided by
    # so little would be noise
    counts, mean = events.sum(axis=1), fit.expected
    degrees = max(len(counts) - len(fit.beta) - len(fit.group_effects), 1)
    return max(1.0, float(((counts - mean) ** 2).sum() / mean.sum()) * len(counts) / degrees)
