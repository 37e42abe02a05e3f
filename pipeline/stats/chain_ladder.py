"""Chain ladder: what a triangle of cumulated counts or costs will still bring, with Mack's standard error.

Rows are cohorts, columns ages; C_i,j+1 is expected to be f_j C_ij, with variance sigma_j^2 C_ij. Factors are weighed by
volume.

Source: Mack (1993), ASTIN Bulletin 23, 213-225; Mack (1994), CAS Forum, spring 1994, 101-182 (the last sigma).
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from pipeline.stats.intervals import Floats

SigmaTail = Literal["mack", "log-linear"]


@dataclass(frozen=True)
class Ladder:
    """factors (J - 1,), sigma2 (J - 1,), reached (I,) and target (I,) cumulated values; what is to come and its errors.

    to_come (I,) target - reached; errors (I,) standard errors of each cohort; error of the sum over cohorts
    """

    factors: Floats
    sigma2: Floats
    reached: Floats
    target: Floats
    errors: Floats
    error: float

    @property
    def to_come(self) -> Floats:
        """(I,) what each cohort still brings."""
        return self.target - self.reached


def chain_ladder(triangle: Floats, ages_ahead: int | None = None, sigma_tail: SigmaTail = "mack") -> Ladder:
    """Develops every cohort to the last age, or by so many ages.

    triangle    (I, J) cumulated, nan where not seen yet; each cohort's seen values come first, I and J at least 3
    sigma_tail  the last sigma, from one ratio only: Mack's rule min(s4 / s3, s3, s4), or a line through the logs
    Raises ValueError where a factor cannot be told: a column adds up to nothing where the next one does not exist.
    """
    n_cohorts, n_ages = triangle.shape
    if n_cohorts < 3 or n_ages < 3:
        raise ValueError("a triangle needs three cohorts and three ages")
    is_pair = ~np.isnan(triangle[:, 1:])
    from_, to = np.where(is_pair, triangle[:, :-1], 0.0), np.where(is_pair, triangle[:, 1:], 0.0)
    volume = from_.sum(axis=0)
    if (volume <= 0).any():
        raise ValueError("a column of the triangle adds up to nothing, so that it has no factor")
    factors = to.sum(axis=0) / volume
    sigma2 = _sigma2(from_, to, is_pair, factors, sigma_tail)
    age = (~np.isnan(triangle)).sum(axis=1) - 1
    last = np.full(n_cohorts, n_ages - 1) if ages_ahead is None else np.minimum(age + ages_ahead, n_ages - 1)
    reached = triangle[np.arange(n_cohorts), age]
    return _developed(factors, sigma2, volume, (reached, age, last))


def _sigma2(from_: Floats, to: Floats, is_pair: np.ndarray, factors: Floats, tail: SigmaTail) -> Floats:
    pairs = is_pair.sum(axis=0)
    has_value = from_ > 0
    ratio = np.where(has_value, to / np.where(has_value, from_, 1.0), factors)
    spread = (from_ * (ratio - factors) ** 2).sum(axis=0)
    sigma2 = np.where(pairs > 1, spread / np.maximum(pairs - 1, 1), np.nan)
    for place in np.flatnonzero(np.isnan(sigma2)):
        sigma2[place] = _tail(sigma2[:place], tail)
    return sigma2


def _tail(before: Floats, tail: SigmaTail) -> float:
    known = np.flatnonzero(before > 0)
    if len(known) < 2:
        return float(before[-1]) if len(before) else 0.0
    if tail == "log-linear":
        slope, level = np.polyfit(known, np.log(np.sqrt(before[known])), 1)
        return float(np.exp(2 * (level + slope * len(before))))
    last, one_before = before[-1], before[-2]
    return float(min(last**2 / one_before if one_before > 0 else last, last, one_before))


def _developed(factors: Floats, sigma2: Floats, volume: Floats, cohorts: tuple[Floats, Floats, Floats]) -> Ladder:
    reached, age, last = cohorts
    n = len(reached)
    value, square = reached.astype(float).copy(), np.zeros(n)
    shared = np.zeros((n, n))  # relative covariance of two cohorts by the factors that both take
    for j, (f, s2, v) in enumerate(zip(factors, sigma2, volume, strict=True)):
        goes_on = (age <= j) & (j < last)
        own = value**2 * (s2 / np.where(value > 0, value, 1.0) + s2 / v)
        square = np.where(goes_on, own * (value > 0) + f**2 * square, square)
        value = np.where(goes_on, f * value, value)
        shared += np.outer(goes_on, goes_on) * (s2 / f**2 / v if f > 0 else 0.0)
    np.fill_diagonal(shared, 0.0)
    total = float(square.sum() + value @ shared @ value)
    return Ladder(factors, sigma2, reached, value, np.sqrt(square), float(np.sqrt(total)))
