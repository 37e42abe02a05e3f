"""How far coefficients of a kind are spread about 0, learned from many fits at once instead of being set beforehand.

A prior that is too wide for the records makes much of chance, one that is too narrow throws away what they know. Kinds
of coefficients that share a prior show themselves how wide it should be.

Source: MacKay (1992), Neural Computation 4, 415-447 (the evidence of a prior's width, and the step that raises it).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.stats.hazards import HazardData, HazardFit, Prior, fit_hazard
from pipeline.stats.intervals import Floats

ROUNDS = 5  # from usual widths; later rounds move them by a few per cent
AS_COEFFICIENTS = 5.0  # the usual widths weigh as so many well-known coefficients would
TOLERANCE = 1e-2  # of fits between rounds, in standard errors
LEAST_SPREAD = 0.02
LEAST_GROUPS = 3  # two groups cannot show how groups differ


@dataclass(frozen=True)
class Spreads:
    """Standard deviations on the log hazard: kinds (C,) of each kind of coefficient; groups, of group intercepts."""

    kinds: Floats
    groups: float

    def prior(self, kinds: NDArray[np.int64]) -> Prior:
        """The prior of coefficients of these kinds (p,)."""
        return Prior(self.kinds[kinds] ** -2, self.groups**-2)


def learned_spreads(
    models: list[tuple[HazardData, NDArray[np.int64]]], usual: Spreads, weight: float = AS_COEFFICIENTS
) -> tuple[Spreads, list[HazardFit]]:
    """The widths that the models support together, drawn towards the usual ones; and the last fits, to start from.

    models  data, each with events, and the kind (p,) of each of its columns, a number below C
    weight  of the usual widths; 0 leaves them out
    """
    spreads, fits = usual, _fitted(models, usual, [None] * len(models))
    for _ in range(ROUNDS - 1):
        spreads = _widened(models, fits, (spreads, usual), weight)
        fits = _fitted(models, spreads, fits)
    return _widened(models, fits, (spreads, usual), weight), fits


def _fitted(
    models: list[tuple[HazardData, NDArray[np.int64]]], spreads: Spreads, starts: Sequence[HazardFit | None]
) -> list[HazardFit]:
    return [
        fit_hazard(data, spreads.prior(kinds), start=start, tolerance=TOLERANCE)
        for (data, kinds), start in zip(models, starts, strict=True)
    ]


def _widened(
    models: list[tuple[HazardData, NDArray[np.int64]]],
    fits: list[HazardFit],
    spreads: tuple[Spreads, Spreads],
    weight: float,
) -> Spreads:
    """One step: squares of the coefficients over how many of them the records know, both summed over the fits."""
    now, usual = spreads
    squares, known = weight * usual.kinds**2, np.full(len(usual.kinds), weight)
    group_squares, groups_known = weight * usual.groups**2, weight
    for (data, kinds), fit in zip(models, fits, strict=True):
        share = 1 - np.diag(fit.beta_covariance) / now.kinds[kinds] ** 2
        squares = squares + np.bincount(kinds, fit.beta**2, len(squares))
        known = known + np.bincount(kinds, share, len(known))
        if data.n_groups >= LEAST_GROUPS:
            group_squares += float(fit.group_effects @ fit.group_effects)
            groups_known += float((1 - 1 / (fit.group_curvature * now.groups**2)).sum())
    kinds_squared = np.where(known > 0, squares / np.where(known > 0, known, 1.0), usual.kinds**2)
    groups_squared = group_squares / groups_known if groups_known > 0 else usual.groups**2
    return Spreads(np.maximum(np.sqrt(kinds_squared), LEAST_SPREAD), max(float(np.sqrt(groups_squared)), LEAST_SPREAD))
