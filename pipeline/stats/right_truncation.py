"""How long paper takes, from paper that has arrived: what takes longest is missing most, which the estimate undoes.

A callback is seen only where its delay is not longer than the days since it was reported (its limit). In reversed time
the chance of a delay of d days among those of d days or less is the number seen with that delay over the number seen
with no longer one whose limit would have let it be seen; the product of what is left gives the distribution.

Sources: Lagakos, Barraj and De Gruttola (1988), Biometrika 75, 515-523; Kalbfleisch and Lawless (1989), J. Am. Stat.
Assoc. 84, 360-372; Lawless (1994), Can. J. Stat. 22, 15-31 (counts corrected for reporting delay).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.stats.intervals import Floats

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Delays:
    """The distribution of delays, as steps.

    days      (J,) delays seen, ascending
    seen      (J,) how many had that delay
    at_risk   (J,) how many had no longer one and could have been seen with this one
    arrived   (J,) share of all whose delay is that or shorter; the last is 1
    """

    days: Ints
    seen: Ints
    at_risk: Ints
    arrived: Floats

    @property
    def is_known(self) -> bool:
        """Any delay is known."""
        return len(self.days) > 0

    def arrived_by(self, days: ArrayLike) -> Floats:
        """Share whose delay is at most so many days; 0 for negative days; 1 where no delay is known."""
        wanted = np.asarray(days)
        if not self.is_known:
            return np.where(wanted >= 0, 1.0, 0.0)
        place = np.searchsorted(self.days, wanted, side="right")
        return np.where(wanted >= 0, np.concatenate([[0.0], self.arrived])[place], 0.0)

    def days_until(self, share: float) -> int:
        """The days after which at least this share has arrived; 0 where no delay is known."""
        return int(self.days[np.argmax(self.arrived >= share)]) if self.is_known else 0


NO_DELAYS = Delays(np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0))


def delays_of(delays: ArrayLike, limits: ArrayLike, least: float = 1) -> Delays:
    """The distribution of delays from those seen.

    delays, limits  (n,) whole days, 0 <= delay <= limit; beyond the longest delay used nothing is assumed to come
    least           only delays are used that at least so many had the days for: with one alone, which then had it, all
                    shorter delays would be given no share at all
    Raises ValueError where a delay is negative or longer than its limit.

    >>> delays_of([0, 0, 0, 2], [9, 9, 1, 9]).arrived.round(3).tolist()
    [0.667, 1.0]
    """
    taken, allowed = np.asarray(delays, dtype=np.int64), np.asarray(limits, dtype=np.int64)
    if (taken < 0).any() or (taken > allowed).any():
        raise ValueError("a delay must lie between 0 and its limit")
    if not len(taken):
        return NO_DELAYS
    days, seen = np.unique(taken, return_counts=True)
    is_used = len(allowed) - np.searchsorted(np.sort(allowed), days, side="left") >= least
    if not is_used.any():
        return NO_DELAYS
    days, seen = days[is_used], seen[is_used]
    # no longer delay than d, and a limit of d or more: those with a shorter limit have a shorter delay too
    at_risk = np.searchsorted(np.sort(taken), days, side="right") - np.searchsorted(np.sort(allowed), days, side="left")
    kept = 1 - seen / at_risk
    arrived = np.concatenate([np.cumprod(kept[::-1])[::-1][1:], [1.0]])
    return Delays(days, seen.astype(np.int64), at_risk.astype(np.int64), arrived)
