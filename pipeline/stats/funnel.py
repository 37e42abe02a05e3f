"""Is a group inside the funnel that chance and ordinary differences between groups would give?"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pipeline.stats.intervals import Floats


@dataclass(frozen=True)
class OverDispersion:
    """q: Cochran's Q; phi = q / number of groups, after trimming; tau2: variance between groups beyond chance."""

    q: float
    phi: float
    tau2: float


def additive_over_dispersion(
    values: ArrayLike, standard_errors: ArrayLike, target: float, trim: float = 0.0
) -> OverDispersion:
    """Moment estimate of the variance between groups around a target.

    values, standard_errors  shape (I,); trim: share of z-scores pulled in at either end (winsorised) before estimating
    With target = the precision-weighted mean and no trimming this is the DerSimonian-Laird estimator.
    Source: Spiegelhalter (2005), Stat. Med. 24, 1185-1202.
    """
    y, s = np.asarray(values, dtype=float), np.asarray(standard_errors, dtype=float)
    z = (y - target) / s
    if trim > 0:
        z = np.clip(z, *np.quantile(z, [trim, 1 - trim]))
    n, w = len(y), s**-2
    q = float((z**2).sum())
    denominator = w.sum() - (w**2).sum() / w.sum()
    tau2 = max(0.0, (q - (n - 1)) / denominator) if n > 1 and denominator > 0 else 0.0
    return OverDispersion(q, q / n, float(tau2))


def funnel_scores(values: ArrayLike, standard_errors: ArrayLike, target: float, trim: float = 0.1) -> Floats:
    """z-scores of groups against the target, widened by the differences usual between groups; shape (I,)."""
    y, s = np.asarray(values, dtype=float), np.asarray(standard_errors, dtype=float)
    tau2 = additive_over_dispersion(y, s, target, trim).tau2
    return (y - target) / np.sqrt(s**2 + tau2)
