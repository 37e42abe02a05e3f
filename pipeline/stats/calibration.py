"""How predicted risks hold on events that came later: the slope of what was seen on what was predicted.

Sources: Cox (1958), Biometrika 45, 562-565 (recalibration of predictions); for Poisson counts with a level of its own
for each kind of event, the level profiled out. Royall (1986), Int. Stat. Rev. 54, 221-226 (robust variance).
"""

from dataclasses import dataclass

import numpy as np

from pipeline.stats.intervals import Floats
from pipeline.stats.score_slopes import Foretold, fitted_slopes

# What a slope is taken to be before it is seen, as weight, mean, sd of two normal parts: mostly near 1, as it was on
# simulated firms where deviations matter (0.9 to 1.1); but the predictions may be mostly chance. A judgement.
USUAL = np.array([[0.8, 1.0, 0.12], [0.2, 0.5, 0.35]])


@dataclass(frozen=True)
class Later:
    """One kind of event on n rows: score (n,) predicted log ratios, exposure (n,) >= 0, events (n,)."""

    score: Floats
    exposure: Floats
    events: Floats


@dataclass(frozen=True)
class Slope:
    """1: differences between rows were as large as predicted; below 1: smaller. error: standard; events behind it.

    The error is the larger of the likelihood's own and the one that allows for events of one row in several kinds.
    """

    slope: float
    error: float
    events: int


def trusted_slope(seen: Slope | None) -> tuple[float, float]:
    """Mean and standard deviation of the slope once it was seen with its error: a few events show one that is chance.

    seen  None where nothing could be judged
    """
    weight, mean, sd = USUAL.T
    if seen is not None:
        off = (seen.slope - mean) ** 2 / (sd**2 + seen.error**2)
        weight = weight * np.exp(-(off - off.min()) / 2) / np.sqrt(sd**2 + seen.error**2)
        known = seen.error**-2 / (seen.error**-2 + sd**-2)
        mean, sd = mean + known * (seen.slope - mean), (seen.error**-2 + sd**-2) ** -0.5
    weight = weight / weight.sum()
    middle = float(weight @ mean)
    return middle, float(np.sqrt(weight @ (sd**2 + (mean - middle) ** 2)))


def calibration_slope(kinds: list[Later]) -> Slope | None:
    """Maximum likelihood of events ~ Poisson(exposure exp(level_kind + slope score)); None where nothing can tell.

    kinds  the same n rows in each
    """
    foretold = [
        Foretold(kind.score[:, None], kind.exposure, kind.events)
        for kind in kinds
        if kind.events.sum() > 0 and np.ptp(kind.score) > 0
    ]
    if not foretold:
        return None
    slopes, matrix = fitted_slopes(foretold)
    information = float(matrix[0, 0])
    if information <= 0:
        return None
    pulls = np.sum([kind.pulls(slopes)[:, 0] for kind in foretold], axis=0)
    error = max(information**-0.5, float(np.sqrt(pulls @ pulls)) / information)
    return Slope(float(slopes[0]), error, int(sum(kind.events.sum() for kind in foretold)))
