"""What changed in one group on a day, against groups in which nothing was done: counts before and after.

Counts of cells (group and time) are Poisson around what was expected of them, times an intercept of the group, a factor
of the time, and for the treated group a factor just before and one after the day. Groups treated earlier or later count
only until then.

Sources: Callaway and Sant'Anna (2021), J. Econometrics 225, 200-230, and Goodman-Bacon (2021), J. Econometrics 225,
254-277 (controls not yet treated only); Conley and Taber (2011), Rev. Econ. Stat. 93, 113-125 (few treated groups:
the spread of the others' changes); DerSimonian and Laird (1986), Control. Clin. Trials 7, 177-188 (pooling).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.stats.dispersion import dispersion_of
from pipeline.stats.funnel import additive_over_dispersion
from pipeline.stats.hazards import HazardData, HazardFit, NoEventsError, Prior, fit_hazard
from pipeline.stats.intervals import Floats
from pipeline.stats.leaving_out import reported_variance

BEFORE, JUST_BEFORE, AFTER = 0, 1, 2
GROUP_SD, TIME_SD = 1.0, 1.0  # weak priors on the log scale: few counts must not give infinite factors
HALF = 0.5  # added to counts before their logarithm is taken


@dataclass(frozen=True)
class Units:
    """What was counted: events (n,), expected (n,) over 0, groups (n,) ascending, times (n,) 0..T-1."""

    events: Floats
    expected: Floats
    groups: NDArray[np.int64]
    times: NDArray[np.int64]

    def kept(self, which: NDArray[np.bool_]) -> "Units":
        """Only these units."""
        return Units(self.events[which], self.expected[which], self.groups[which], self.times[which])


@dataclass(frozen=True)
class Change:
    """log_ratio: after against before, and its variance; the same just before.

    dispersion  variance of units over their mean
    """

    log_ratio: float
    variance: float
    just_before: float
    just_before_variance: float
    dispersion: float


@dataclass(frozen=True)
class Pooled:
    """Log ratio of several changes together, and its variance."""

    log_ratio: float
    variance: float


def change_of(units: Units, states: NDArray[np.int64]) -> Change | None:
    """The change in the treated group; None where nothing was counted.

    states (n,)  BEFORE, JUST_BEFORE or AFTER for the treated group's units, BEFORE for all others
    """
    found = _fitted(units, states)
    if found is None:
        return None
    fit, mean = found
    all_over = dispersion_of(units.events, mean, int(units.groups.max()) + len(fit.beta) + 1)
    treated = units.groups == units.groups[states == AFTER][0]
    dispersion = max(all_over, _local_dispersion(units, mean, (treated & (states == BEFORE), states == AFTER)))
    just = len(fit.baseline)
    after = just + 1
    return Change(
        float(fit.beta[1]), dispersion * float(fit.covariance[after, after]),
        float(fit.beta[0]), dispersion * float(fit.covariance[just, just]), dispersion,
    )  # fmt: skip


def usual_means(units: Units) -> tuple[Floats, float] | None:
    """(n,) what each unit should count given its group and time, and the dispersion; None where nothing was counted."""
    found = _fitted(units, np.zeros(len(units.events), dtype=np.int64))
    if found is None:
        return None
    fit, mean = found
    return mean, dispersion_of(units.events, mean, int(units.groups.max()) + len(fit.beta) + 1)


def _fitted(units: Units, states: NDArray[np.int64]) -> tuple[HazardFit, Floats] | None:
    # one number a cell: sorting columns of three takes seven times as long, and firms have a million doors
    groups = np.unique(units.groups, return_inverse=True)[1]
    shape = (int(groups.max()) + 1, int(units.times.max()) + 1, AFTER + 1)
    numbers, cell = np.unique(np.ravel_multi_index((groups, units.times, states), shape), return_inverse=True)
    keys = np.stack(np.unravel_index(numbers, shape))
    events, expected = (np.bincount(cell, part).astype(float) for part in (units.events, units.expected))
    times = np.unique(keys[1])[1:]
    design = np.column_stack([keys[2] == JUST_BEFORE, keys[2] == AFTER, *(keys[1] == time for time in times)])
    precision = np.concatenate([[0.0, 0.0], np.full(len(times), TIME_SD**-2)])
    log_f = (np.arange(len(precision)) < 2).astype(float)  # no infinite ratio where nothing came on one side
    data = HazardData(design.astype(float), expected[:, None], events[:, None], keys[0])
    try:
        fit = fit_hazard(data, Prior(precision, GROUP_SD**-2, log_f))
    except NoEventsError:
        return None
    return fit, units.expected * (fit.expected / expected)[cell]


def _local_dispersion(units: Units, mean: Floats, sides: tuple[NDArray[np.bool_], ...]) -> float:
    """The dispersion of the two counts that are compared, each by its part of the variance.

    What can happen once only varies the less, the likelier it is: after a change it may vary more than before.
    """
    dues = np.array([max(float(mean[side].sum()), HALF) for side in sides])
    own = np.array([dispersion_of(units.events[side], mean[side], 1) for side in sides])
    return float((own / dues).sum() / (1 / dues).sum())


def placebo_scores(
    units: Units, mean: Floats, days: Floats, cuts: Floats, gap: float, dispersion: float, least: float
) -> Floats:
    """Changes, in standard errors, in every group on every one of the days `cuts`, on which nothing was done.

    units, mean, days (n,)  untreated units only, what each should count, and when it was made
    gap    days before a cut that are left out, as just before
    least  counts that must be expected on either side
    Returns (number of usable pairs of group and cut,).
    """
    groups = int(units.groups.max()) + 1 if len(units.groups) else 0
    found = []
    for cut in cuts:
        after, before = days >= cut, days < cut - gap
        parts = []
        for which in (after, before):
            seen = np.bincount(units.groups[which], units.events[which], groups)
            due = np.bincount(units.groups[which], mean[which], groups)
            parts.append((seen, due))
        (seen_a, due_a), (seen_b, due_b) = parts
        usable = (due_a >= least) & (due_b >= least)
        shift = np.log((seen_a + HALF) / (due_a + HALF)) - np.log((seen_b + HALF) / (due_b + HALF))
        error = np.sqrt(dispersion * (1 / (due_a + HALF) + 1 / (due_b + HALF)))
        found.append((shift / error)[usable])
    return np.concatenate(found) if found else np.empty(0)


def pooled_change(log_ratios: Floats, variances: Floats) -> Pooled:
    """Changes of several groups together: random effects, and a jackknife over the groups where it says more.

    Variance: max(V, (V + V_jack) / 2), V of the random-effects mean and V_jack from leaving one group out.
    """
    y, v = np.asarray(log_ratios, dtype=float), np.asarray(variances, dtype=float)
    estimate, variance = _random_effects(y, v)
    n = len(y)
    if n < 3:  # two groups left out one at a time show their difference only, which is in V already
        return Pooled(estimate, variance)
    left = np.array([_random_effects(np.delete(y, i), np.delete(v, i))[0] for i in range(n)])
    jackknife = (n - 1) / n * float(((left - left.mean()) ** 2).sum())
    return Pooled(estimate, float(reported_variance(variance, jackknife)))


def _random_effects(y: Floats, v: Floats) -> tuple[float, float]:
    w = 1 / v
    mean = float((w * y).sum() / w.sum())
    w = 1 / (v + additive_over_dispersion(y, np.sqrt(v), mean).tau2)
    return float((w * y).sum() / w.sum()), float(1 / w.sum())
