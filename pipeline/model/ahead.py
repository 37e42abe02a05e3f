"""The twelve months ahead by draws: callbacks and their cost, month by month and together."""

from dataclasses import dataclass

import numpy as np

from pipeline.model.standing import Standing
from pipeline.stats.age_and_month import draw_ahead
from pipeline.stats.cost_draws import draw_costs
from pipeline.stats.intervals import Floats

DRAWS = 4000
TAILS = (0.025, 0.975)


@dataclass(frozen=True)
class Ahead:
    """Months ahead, then the total: (13,) each, or (13, 2) low and high; costs are None where none is known.

    from_out, from_to_come  what of the callbacks comes from doors already out, and from doors to come
    """

    callbacks: Floats
    bounds: Floats
    from_out: Floats
    from_to_come: Floats
    cost: Floats | None
    cost_bounds: Floats | None


def look_ahead(standing: Standing, seed: int) -> Ahead:
    """Means and 95 % intervals over joint draws, so that the months' means add up to the total's."""
    rng = np.random.default_rng(seed)
    drawn = draw_ahead(standing.seen, standing.out.shape[1], DRAWS, rng)
    rates = np.exp(drawn.log_age)
    level = np.exp(drawn.log_month) * _doors_that_differ(standing.door_error, rng)
    out = (rates @ standing.out) * level
    to_come = (rates @ standing.to_come) * level + standing.snags_to_come
    counts = _counts(out + to_come, standing.seen.clumping, rng)
    cost = draw_costs(standing.known_costs, counts, rng) if len(standing.known_costs) else None
    by_source = [_with_total(part.mean(axis=0)) for part in (out, to_come)]
    return Ahead(
        callbacks=by_source[0] + by_source[1],
        bounds=_bounds(counts),
        from_out=by_source[0],
        from_to_come=by_source[1],
        cost=None if cost is None else _with_total((out + to_come).mean(axis=0) * standing.known_costs.mean()),
        cost_bounds=None if cost is None else _bounds(cost),
    )


def _doors_that_differ(error: float, rng: np.random.Generator) -> Floats:
    """(B, 1) factors of mean 1 that the months of one draw share."""
    return rng.gamma(error**-2, error**2, (DRAWS, 1)) if error > 1e-4 else np.ones((DRAWS, 1))


def _counts(means: Floats, clumping: float, rng: np.random.Generator) -> np.ndarray:
    """Counts with that variance over mean: gamma-Poisson, Poisson where it is 1."""
    if clumping <= 1 + 1e-9:
        return rng.poisson(means)
    return rng.poisson(rng.gamma(np.maximum(means, 1e-12) / (clumping - 1)) * (clumping - 1))


def _with_total(by_month: Floats) -> Floats:
    return np.append(by_month, by_month.sum())


def _bounds(drawn: np.ndarray) -> Floats:
    whole = np.column_stack([drawn, drawn.sum(axis=1)])
    return np.quantile(whole, TAILS, axis=0).T
