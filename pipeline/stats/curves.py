"""A fitted curve of log ratios, with its pointwise interval, and where it crosses a level.

Source: Fieller (1954), J. R. Stat. Soc. B 16, 175-185 (the places whose interval holds the level are the interval of
where it is crossed).
"""

from dataclasses import dataclass

import numpy as np

from pipeline.stats.intervals import Z95, Floats
from pipeline.stats.leaving_out import reported_variance


@dataclass(frozen=True)
class FittedCurve:
    """Log ratios relative to a reference: contrasts @ coefficients.

    contrasts         (V, p) columns at each grid value less columns at the reference
    coefficients      (p,);  covariance (p, p) the model's own
    group_covariance  (p, p) from leaving out one group at a time; None with one group
    """

    contrasts: Floats
    coefficients: Floats
    covariance: Floats
    group_covariance: Floats | None

    @property
    def log_ratios(self) -> Floats:
        """(V,) the curve."""
        return self.contrasts @ self.coefficients

    @property
    def errors(self) -> Floats:
        """(V,) standard errors: the larger of the model's variance and the mean of it and the jackknife's."""
        own = _forms(self.contrasts, self.covariance)
        groups = own if self.group_covariance is None else _forms(self.contrasts, self.group_covariance)
        return np.sqrt(reported_variance(own, groups))

    @property
    def low(self) -> Floats:
        """(V,) lower ends of the pointwise 95 % intervals."""
        return self.log_ratios - Z95 * self.errors

    @property
    def high(self) -> Floats:
        """(V,) upper ends."""
        return self.log_ratios + Z95 * self.errors

    def draws(self, n_draws: int, rng: np.random.Generator) -> Floats:
        """(R, V) curves drawn from the coefficients, with the variance that is larger at the last value."""
        covariance = self.covariance
        if self.group_covariance is not None:
            both = (self.covariance + self.group_covariance) / 2
            last = self.contrasts[-1:]
            covariance = both if _forms(last, both)[0] > _forms(last, covariance)[0] else covariance
        drawn = rng.multivariate_normal(self.coefficients, covariance, size=n_draws, method="eigh")
        return np.asarray(drawn @ self.contrasts.T)


def _forms(rows: Floats, matrix: Floats) -> Floats:
    return np.maximum(((rows @ matrix) * rows).sum(axis=1), 0.0)


@dataclass(frozen=True)
class Crossing:
    """Where a rising curve reaches a level, and the ends of its 95 % interval; None: not within the values.

    Going along the values: before `soonest` the level is for certain not reached, from `latest` on it is, all the way.
    """

    soonest: float | None
    best: float | None
    latest: float | None


def crossing(values: Floats, curve: FittedCurve, level: float) -> Crossing:
    """Where the curve reaches the level; the places whose pointwise interval holds it are the interval, gaps included.

    values  (V,) of the curve's rows, in the order in which it is expected to rise
    """
    return Crossing(
        soonest=_first_at(values, curve.high, level),
        best=_first_at(values, curve.log_ratios, level),
        latest=_stays_from(values, curve.low, level),
    )


def _first_at(values: Floats, heights: Floats, level: float) -> float | None:
    reached = np.flatnonzero(heights >= level)
    return _between(values, heights, level, int(reached[0])) if len(reached) else None


def _stays_from(values: Floats, heights: Floats, level: float) -> float | None:
    below = np.flatnonzero(heights < level)
    after = int(below[-1]) + 1 if len(below) else 0
    return _between(values, heights, level, after) if after < len(values) else None


def _between(values: Floats, heights: Floats, level: float, at: int) -> float:
    if at == 0:
        return float(values[0])
    share = (level - heights[at - 1]) / (heights[at] - heights[at - 1])
    return float(values[at - 1] + share * (values[at] - values[at - 1]))
