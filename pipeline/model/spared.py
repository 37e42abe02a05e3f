"""Callbacks that would be spared if every door met the limit of one deviation."""

from dataclasses import dataclass

import numpy as np

from pipeline.model.pair_design import PairDesign
from pipeline.model.pair_fit import PairEstimate
from pipeline.stats.attribution import attributable_share, share_draws
from pipeline.stats.intervals import Floats

N_DRAWS = 1000


@dataclass(frozen=True)
class SparedShare:
    """Share of the fault's callbacks, with its 95 % interval; unrecorded doors are taken to be like the recorded."""

    share: float
    low: float
    high: float


def spared_share(
    design: PairDesign, estimate: PairEstimate, limits: Floats, rng: np.random.Generator
) -> SparedShare | None:
    """The attributable share of the pair, or None where no door of the design has a limit.

    limits  (m,) the governing limit of each door in the deviation's unit, nan where there is none
    """
    if not np.isfinite(limits).any():
        return None
    excess = np.where(np.isfinite(limits), design.place.beyond(design.values, limits), 0.0)
    per_unit, error = estimate.log_ratio / design.spread, estimate.error / design.spread
    draws = share_draws(excess, estimate.expected, design.groups, rng.normal(per_unit, error, size=N_DRAWS), rng)
    low, high = np.quantile(draws, [0.025, 0.975])
    return SparedShare(attributable_share(excess, estimate.expected, per_unit), float(low), float(high))
