"""Whether one group lies outside what is usual between the others."""

import numpy as np
from scipy import stats

from pipeline.stats.intervals import Floats

FEWEST = 5


def outlier_p(values: Floats, errors: Floats) -> Floats:
    """One-sided p-value of each group being as high as it is, by the others' mean and spread; shape (n,).

    values, errors  shape (n,): each group's figure and its standard error; nan where it has none
    The group itself is left out of mean and spread. Groups differ honestly, so the spread between the others is part
    of the yardstick (prediction interval of a new group, Student's t). That spread is what is not sure of it: where the
    group's own error outweighs it, the degrees of freedom grow (Welch-Satterthwaite). Under FEWEST groups: nan.
    Source: Satterthwaite (1946), Biometrics Bulletin 2, 110-114.
    """
    p = np.full(len(values), np.nan)
    known = np.flatnonzero(np.isfinite(values) & np.isfinite(errors))
    if len(known) < FEWEST:
        return p
    for group in known:
        others = known[known != group]
        mean, variance = values[others].mean(), values[others].var(ddof=1)
        between = max(float(variance - np.mean(errors[others] ** 2)), 0.0)
        whole, unsure = between + errors[group] ** 2 + variance / len(others), variance * (1 + 1 / len(others))
        degrees = (len(others) - 1) * max(1.0, (whole / unsure) ** 2 if unsure > 0 else 1e6)
        p[group] = stats.t.sf((values[group] - mean) / np.sqrt(whole), degrees) if whole > 0 else 1.0
    return p
