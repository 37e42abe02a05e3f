"""How a fitted hazard model changes when a group is left out, and what that says of its errors.

Sources: Pregibon (1981), Ann. Stat. 9, 705-724 (one-step deletion); Efron and Stein (1981), Ann. Stat. 9, 586-596
(jackknife); Liang and Zeger (1986), Biometrika 73, 13-22 (sandwich).
"""

import numpy as np

from pipeline.stats.hazards import HazardData, HazardFit, Prior
from pipeline.stats.intervals import Floats


def deletion_shifts(data: HazardData, prior: Prior, fit: HazardFit) -> Floats:
    """(G, K + p) shift of every parameter when one group is left out, by one Newton step.

    fit  one made with by_group
    Raises ValueError for another.
    """
    if fit.group_information is None:
        raise ValueError("the fit does not know its groups' information; make it with by_group")
    cross = fit.group_cross
    own = fit.group_information
    if prior.group_precision is not None:
        own = own - cross[:, :, None] * (cross / fit.group_curvature[:, None])[:, None, :]
    total = np.linalg.inv(fit.covariance)
    # a group that alone carries a parameter leaves a singular system: a whisper of ridge keeps the step finite
    ridge = 1e-9 * np.trace(total) / len(total) * np.eye(len(total))
    # at the optimum the pull on a group's intercept is zero, so its score needs no correction for it
    scores = _group_events(data) - cross
    return -np.linalg.solve(total + ridge - own, scores[:, :, None])[:, :, 0]


def jackknife_variance(shifts: Floats) -> Floats:
    """(q,) delete-one-group jackknife variance from the shifts of G groups; nan with one group."""
    n_groups = len(shifts)
    if n_groups < 2:
        return np.full(shifts.shape[1], np.nan)
    return (n_groups - 1) / n_groups * (_centred(shifts) ** 2).sum(axis=0)


def jackknife_covariance(shifts: Floats) -> Floats:
    """(q, q) the same of all of them together; two groups or more."""
    centred = _centred(shifts)
    return np.asarray((len(shifts) - 1) / len(shifts) * centred.T @ centred)


def _centred(shifts: Floats) -> Floats:
    return shifts - shifts.mean(axis=0)


def reported_variance(own: Floats | float, groups: Floats | float) -> Floats:
    """The variance that is reported: the larger of the model's own and the mean of it and the jackknife's over groups.

    groups  nan where there is one group only: then the model's own
    """
    return np.asarray(np.where(np.isnan(groups), own, np.maximum(own, (own + groups) / 2)))


def sandwich_covariance(data: HazardData, fit: HazardFit) -> Floats:
    """(K + p, K + p) covariance of all parameters that holds when rows of one group are alike, G / (G - 1) included.

    fit  one without group intercepts: the groups of `data` are clusters only
    Raises ValueError for a fit with group intercepts, or with one group.
    """
    n_groups = data.n_groups
    if n_groups < 2 or np.isfinite(fit.group_curvature).any():
        raise ValueError("two groups or more are needed, and a fit without group intercepts")
    scores = _group_events(data) - fit.group_cross
    return np.asarray(n_groups / (n_groups - 1) * fit.covariance @ (scores.T @ scores) @ fit.covariance)


def _group_events(data: HazardData) -> Floats:
    """(G, K + p) events of each group by interval, and its covariates summed over them."""
    by_row = data.events @ np.ones(data.events.shape[1])
    rows = np.flatnonzero(by_row)  # few rows have events
    sums = np.zeros((data.n_groups, data.time.shape[1] + data.design.shape[1]))
    if len(rows):
        seen = np.column_stack([data.events[rows], data.design[rows] * by_row[rows, None]])
        first = np.flatnonzero(np.r_[True, np.diff(data.groups[rows]) > 0])
        sums[data.groups[rows[first]]] = np.add.reduceat(seen, first)
    return sums
