"""Who was watched, and whom it happened to, at each distinct time of an event: a hazard model without partial exposure.

With one unit of time for everybody at risk at each event time, `fit_hazard` gives the estimates that are printed for
rates at event times: Cox's with Breslow's ties (Whitehead 1980), Nelson-Aalen's and the mean cumulative function.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.stats.hazards import HazardData, HazardFit, Prior, fit_hazard
from pipeline.stats.intervals import Floats
from pipeline.stats.leaving_out import sandwich_covariance
from pipeline.stats.time_at_risk import count_events, split_time


def at_event_times(
    start: ArrayLike, stop: ArrayLike, happened: ArrayLike, groups: NDArray[np.int64], design: Floats | None = None
) -> tuple[Floats, HazardData]:
    """The distinct event times (K,), and rows watched over (start, stop] with or without an event at stop.

    groups  (n,) ascending; design (n, p), without columns if not given
    """
    leave, is_event = np.asarray(stop, dtype=float), np.asarray(happened) == 1
    times = np.unique(leave[is_event])
    cuts = np.concatenate([[0.0], times, [np.inf]])
    whole = split_time(np.zeros(1), times[-1:], cuts)[:, :-1]
    at_risk = np.isclose(split_time(start, leave, cuts)[:, :-1], whole).astype(float)
    rows = np.flatnonzero(is_event)
    events = count_events(rows, leave[rows], len(leave), cuts)[:, :-1]
    return times, HazardData(np.empty((len(leave), 0)) if design is None else design, at_risk, events, groups)


def fitted(data: HazardData) -> HazardFit:
    """The fit without any prior."""
    return fit_hazard(data, Prior(np.zeros(data.design.shape[1])))


def cumulative_hazard(times: Floats, data: HazardData, until: float) -> tuple[float, float]:
    """Events a unit by that time, and the error that holds when one unit's events hang together.

    The error leaves out the factor G / (G - 1) of `sandwich_covariance`, as the printed ones do.
    """
    fit, counted = fitted(data), times <= until
    hazard = np.where(counted, np.exp(fit.baseline), 0.0)
    variance = hazard @ sandwich_covariance(data, fit) @ hazard * (data.n_groups - 1) / data.n_groups
    return float(hazard.sum()), float(np.sqrt(variance))
