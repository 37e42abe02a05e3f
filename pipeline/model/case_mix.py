"""What each crew's doors would have brought in the hands of an average crew, and how sure that is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.model.covariates import Columns
from pipeline.stats.dispersion import dispersion_of
from pipeline.stats.hazards import HazardData, HazardFit, NoEventsError, Prior, fit_hazard
from pipeline.stats.intervals import Floats

CREWS_SD = 2.0  # of crew intercepts beside the case mix


@dataclass(frozen=True)
class ExpectedCounts:
    """expected (G,): callbacks of each crew's doors with an average crew, summing to all callbacks seen.

    log_covariance (G, G): of the logarithm of expected, from the case-mix coefficients
    over_dispersion: variance of a crew's count over its mean, from doors that differ beyond what is recorded; 1 or more
    by_door (n,): the same expectation of each door;  risk (n,): its hazard against that of a door of the same age
    """

    expected: Floats
    log_covariance: Floats
    over_dispersion: float
    by_door: Floats
    risk: Floats

    @property
    def log_error(self) -> Floats:
        """(G,) standard error of the logarithm of expected."""
        return np.asarray(np.sqrt(np.maximum(np.diag(self.log_covariance), 0.0)))


def expected_counts(
    covariates: Columns, time: Floats, events: Floats, groups: NDArray[np.int64]
) -> ExpectedCounts | None:
    """Coefficients fitted with crews in the model, expected counts computed without them; None without any event.

    covariates (n rows), time (n, K), events (n, K), groups (n,) crew numbers 0..G-1 in ascending order
    Crews are hardly pooled while the coefficients are fitted: were they, part of what hard doors do would be taken for
    the work of the careful crews that are sent there. Deviations stay out: they are what a crew answers for.
    Source of indirect standardisation: Breslow and Day (1987), Statistical Methods in Cancer Research II, chapter 2.
    """
    try:
        data = HazardData(covariates.matrix, time, events, groups)
        fit = fit_hazard(data, Prior(covariates.precision, CREWS_SD**-2))
    except NoEventsError:
        return None
    risk = np.exp(covariates.matrix @ fit.beta)
    means = time * np.exp(fit.baseline)[None, :] * risk[:, None]
    by_group = np.zeros((data.n_groups, means.shape[1] + covariates.matrix.shape[1]))
    np.add.at(by_group, groups, np.column_stack([means, covariates.matrix * means.sum(axis=1)[:, None]]))
    totals = by_group[:, : means.shape[1]].sum(axis=1)
    scale = events.sum() / totals.sum()
    return ExpectedCounts(
        expected=totals * scale,
        log_covariance=_log_covariance(by_group, totals, fit),
        over_dispersion=max(1.0, dispersion_of(events.sum(axis=1), fit.expected, len(fit.beta) + data.n_groups)),
        by_door=means.sum(axis=1) * scale,
        risk=risk,
    )


def _log_covariance(by_group: Floats, totals: Floats, fit: HazardFit) -> Floats:
    """Delta method on log(expected of the group / expected of all)."""
    safe = np.where(totals > 0, totals, 1.0)
    gradient = by_group / safe[:, None] - by_group.sum(axis=0) / totals.sum()
    gradient[totals <= 0] = 0.0
    return np.asarray(gradient @ fit.covariance @ gradient.T)
