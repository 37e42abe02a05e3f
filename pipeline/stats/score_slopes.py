"""Events foretold by scores: the slopes of the scores, while each kind of event has a level of its own.

events ~ Poisson(exposure exp(level of the kind + scores @ slopes)). With the level at its best, Newton steps need the
scores about their mean over the events expected.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.stats.intervals import Floats

MOST_STEPS = 50
RIDGE = 1e-9  # of the information: a score that never varies then adds nothing instead of failing


@dataclass(frozen=True)
class Foretold:
    """One kind of event on n rows: scores (n, S) predicted log ratios, exposure (n,) >= 0, events (n,)."""

    scores: Floats
    exposure: Floats
    events: Floats

    def pulls(self, slopes: Floats) -> Floats:
        """(n, S) what each row adds to the gradient at `slopes` (S,)."""
        mean, centred = self._expected(slopes)
        return np.asarray(centred * (self.events - mean)[:, None])

    def gradient(self, slopes: Floats) -> tuple[Floats, Floats]:
        """(S,) of the log likelihood at `slopes` (S,), and the information (S, S) there."""
        mean, centred = self._expected(slopes)
        return centred.T @ (self.events - mean), (centred * mean[:, None]).T @ centred

    def log_likelihood(self, slopes: Floats) -> float:
        """With the level at its best, up to what no slope changes."""
        log_ratio = self.scores @ slopes
        top = log_ratio.max()
        level = top + np.log(max(float(self.exposure @ np.exp(log_ratio - top)), 1e-300))
        return float(self.events @ log_ratio) - float(self.events.sum()) * level

    def _expected(self, slopes: Floats) -> tuple[Floats, Floats]:
        """Events expected of each row with the level at its best, and scores less their mean over these."""
        log_ratio = self.scores @ slopes
        weight = self.exposure * np.exp(log_ratio - log_ratio.max())
        mean = weight * (self.events.sum() / max(weight.sum(), 1e-300))
        return mean, self.scores - (mean @ self.scores) / max(mean.sum(), 1e-300)


def fitted_slopes(kinds: Sequence[Foretold]) -> tuple[Floats, Floats]:
    """(S,) slopes of most likelihood, from the first score at its word, and (S, S) the information of all kinds there.

    kinds  one at least
    """
    slopes = np.eye(kinds[0].scores.shape[1])[0]
    information = np.zeros((len(slopes), len(slopes)))
    for _ in range(MOST_STEPS):
        found = [kind.gradient(slopes) for kind in kinds]
        gradient, information = (np.sum([part[i] for part in found], axis=0) for i in (0, 1))
        step = np.clip(np.linalg.solve(ridged(information), gradient), -0.5, 0.5)
        slopes = slopes + step
        if np.abs(step).max() < 1e-8:
            break
    return slopes, information


def ridged(information: Floats) -> Floats:
    """The information (S, S) with so little added that only what tells nothing is moved."""
    return np.asarray(information + RIDGE * (1 + np.trace(information)) * np.eye(len(information)))
