"""Who gets the credit for one event: shares of causes that multiply a hazard, and what none of them explains.

A cause adds to the log hazard. It is credited with its own part only: what an earlier cause passed on to it is the
earlier one's. The log hazards of own parts add up, so that the Shapley value of each is its own part; the chance that
the event came of the causes at all, 1 - 1 / ratio, is split in proportion to them, which is the value of Aumann and
Shapley of that chance: each cause taken away a little at a time, all together.

Sources: Greenland and Robins (1988), Am. J. Epidemiol. 128, 1185-1197 (probability of causation); Aumann and Shapley
(1974), Values of Non-Atomic Games; Frye, Rowat and Feige (2020), Asymmetric Shapley values (earlier causes first).
"""

import numpy as np
from numpy.typing import NDArray

from pipeline.stats.intervals import Floats
from pipeline.stats.partial_slopes import within_groups

LEAST_ROWS = 30  # to tell what one variable passes on


def credit_shares(log_parts: Floats) -> tuple[Floats, Floats]:
    """(..., K) shares of the causes and (...,) the share that none explains; together 1, none below 0.

    log_parts  (..., K) what each cause's own part adds to the log hazard; below 0 counts as 0
    """
    parts = np.maximum(log_parts, 0.0)
    total = parts.sum(axis=-1, keepdims=True)
    explained = -np.expm1(-total)
    # near 0 the split is in proportion all the same
    shares = parts * np.divide(explained, total, out=np.ones_like(total), where=total > 0)
    return shares, np.exp(-total[..., 0])


def credit_errors(log_parts: Floats, part_errors: Floats) -> tuple[Floats, Floats]:
    """(..., K) and (...,) standard errors of both results of `credit_shares`, by the delta method.

    part_errors  (..., K) standard errors of the log parts, independent of one another
    """
    parts = np.maximum(log_parts, 0.0)
    errors = np.where(log_parts > 0, part_errors, 0.0)
    total = parts.sum(axis=-1, keepdims=True)
    left = np.exp(-total)
    per_part = np.divide(-np.expm1(-total), total, out=np.ones_like(total), where=total > 1e-6)
    slope = np.divide(left - per_part, total, out=np.full_like(total, -0.5), where=total > 1e-6)
    all_errors = np.sum(errors**2, axis=-1, keepdims=True)
    # a share moves with its own part, and with every part through the total
    own = per_part + parts * slope
    variance = own**2 * errors**2 + (parts * slope) ** 2 * (all_errors - errors**2)
    return np.sqrt(variance), left[..., 0] * np.sqrt(all_errors[..., 0])


def own_parts(excess: Floats, passed_on: Floats) -> Floats:
    """(n, K) how much of each cause's excess is not brought about by the excess of earlier ones, 0 or more.

    excess     (n, K) beyond the reference, in the worse direction, 0 where within it or not recorded
    passed_on  (K, K) units of the row's cause for one unit of the column's
    """
    return np.maximum(excess - excess @ passed_on.T, 0.0)


def passing_on(values: Floats, earlier: NDArray[np.bool_], groups: NDArray[np.int64]) -> Floats:
    """(K, K) by least squares within groups: units of the row's variable for one more of each earlier one.

    values   (n, K), nan where not recorded; where an earlier one is not recorded it is taken to be the group's mean
    earlier  (K, K) True where the column's variable comes before the row's
    groups   (n,) group numbers; differences between groups are left out, they have causes of their own
    A variable recorded on fewer than `LEAST_ROWS` rows passes nothing on and is given nothing.
    """
    centred = within_groups(values, groups)
    n_seen = np.isfinite(values).sum(axis=0)
    passed = np.zeros(earlier.shape)
    for later in range(len(earlier)):
        columns = np.flatnonzero(earlier[later] & (n_seen >= LEAST_ROWS))
        rows = np.isfinite(values[:, later])
        if len(columns) and n_seen[later] >= LEAST_ROWS:
            passed[later, columns] = np.linalg.lstsq(centred[np.ix_(rows, columns)], centred[rows, later])[0]
    return passed
