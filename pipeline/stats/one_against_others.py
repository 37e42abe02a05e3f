"""Whether one group lies outside what is usual between the others."""

import numpy as np
from scipy import stats

from pipeline.stats.intervals import Floats

FEWEST = 5


def outlier_p(values: Floats, errors: Floats) -> Floats:
    """One-sided p-value of each group being as high as it is, by the others' mean and spread; shape (n,).

    values, errors  shape (n,): each group's figure and its standard error; nan where it has none
    The group itself is left out of mean and spread. Groups differ honestly, so the spread between the others is part
    of the yardstick (prediction interval of a new group, Student's t). Under FEWEST groups: nan.
    """
    p = np.full(len(values), np.nan)
    known = np.flatnonzero(np.isfinite(values) & np.isfinite(errors))
    if len(known) < FEWEST:
        return p
    for group in known:
        others = known[known != group]
        mean, variance = values[others].mean(), values[others].var(ddof=1)
        between = max(float(variance - np.mean(errors[others] ** 2)), 0.0)
        error = np.sqrt(between + errors[group] ** 2 + variance / len(others))
        p[group] = stats.t.sf((values[group] - mean) / error, len(others) - 1) if error > 0 else 1.0
    return p
