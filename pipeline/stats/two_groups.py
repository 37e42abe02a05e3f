"""Effects of which some are nothing and the others alike: what to expect of one that is known badly or not at all.

Effects of one family are nothing (normal about 0, spread `NOTHING`) for a share of them and come from a normal
distribution for the others; share, mean and spread are learned from all estimates of the family together, by EM. What
is known of one effect is then its estimate seen against the family.

Source: Efron (2008), Statistical Science 23, 1-22 (the two-groups model, empirical Bayes).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from pipeline.stats.intervals import Floats

NOTHING = 0.03  # spread of what is called nothing: differences so small have no consequence
# What is taken for granted before anything is seen weighs as one effect each: one that is nothing, one that is not; a
# mean with standard deviation 1 about 0; a spread of 0.1.
USUAL_SPREAD = 0.1
ROUNDS = 500


@dataclass(frozen=True)
class Belief:
    """Of one effect: the chance that it is something, and its mean and standard deviation if so."""

    chance: float
    mean: float
    spread: float


@dataclass(frozen=True)
class TwoGroups:
    """nothing: share of effects that are nothing; mean, spread: of the others."""

    nothing: float
    mean: float
    spread: float

    def with_small_ones(self) -> "TwoGroups":
        """The family for what may be, not what is most likely: effects much smaller than its mean are hidden among
        those that are nothing, and its spread, learned from what can be told apart, is too narrow for them."""
        return TwoGroups(self.nothing, self.mean, max(self.spread, abs(self.mean) / 2))

    def unseen(self) -> Belief:
        """Of an effect of which nothing is known but its family."""
        return Belief(1 - self.nothing, self.mean, self.spread)

    def seen(self, estimate: float, error: float) -> Belief:
        """Of an effect given its estimate and the estimate's standard error."""
        chance, mean, variance = (float(part[0]) for part in self._given(np.array([estimate]), np.array([error])))
        return Belief(chance, mean, float(np.sqrt(variance)))

    def _given(self, estimates: Floats, errors: Floats) -> tuple[Floats, Floats, Floats]:
        """(n,) each: chance that the effect is something, and its mean and variance if so."""
        something = stats.norm.logpdf(estimates, self.mean, np.hypot(errors, self.spread)) + np.log1p(-self.nothing)
        nothing = stats.norm.logpdf(estimates, 0.0, np.hypot(errors, NOTHING)) + np.log(self.nothing)
        kept = self.spread**2 / (self.spread**2 + errors**2)
        return (
            1 / (1 + np.exp(np.clip(nothing - something, -700, 700))),
            self.mean + kept * (estimates - self.mean),
            kept * errors**2,
        )


def two_groups(estimates: ArrayLike, errors: ArrayLike) -> TwoGroups:
    """The family's share, mean and spread from (n,) estimates and their standard errors, above 0."""
    found, known = np.asarray(estimates, dtype=float), np.asarray(errors, dtype=float)
    family = TwoGroups(0.5, float(np.quantile(found, 0.75)) if len(found) else 0.0, USUAL_SPREAD)
    for _ in range(ROUNDS):
        chance, mean, variance = family._given(found, known)
        weight = float(chance.sum())
        middle = float(chance @ mean) / (weight + family.spread**2)
        square = float(chance @ ((mean - middle) ** 2 + variance))
        spread = float(np.sqrt((square + USUAL_SPREAD**2) / (weight + 1)))
        family = TwoGroups(float(len(found) - weight + 1) / (len(found) + 2), middle, spread)
    return family
