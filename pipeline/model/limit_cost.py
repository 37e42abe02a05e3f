"""The limit of a deviation that costs least, over all faults that it is a strong cause of."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from pipeline.model.adjusters import Place
from pipeline.model.limit_place import fitted_curve, towards_worse
from pipeline.stats.least_cost import Stakes, cheapest, costs_of_limits

N_DRAWS = 1000
# Hours of work of a later repair, all persons together, and the share of them that it takes before handover, when
# nothing has to be travelled to or taken apart: common practice, no source.
REPAIR_HOURS = {
    "survey": 10.0, "sill": 10.0, "frame": 7.0, "hanging": 1.5, "glazing": 2.0, "adjustment": 1.0, "sealing": 3.0,
    "handover": 0.5,
}  # fmt: skip
BEFORE_HANDOVER = 0.2


@dataclass(frozen=True)
class CheapestLimit:
    """value: None where putting right never pays. low, high: its 95 % interval, None where it may never pay."""

    value: float | None
    low: float | None
    high: float | None


def rework_cost(place: Place, rework: float | None, labour_rate: float | None) -> float | None:
    """Money to put one door right: the firm's own figure, else usual hours at its labour rate, else None."""
    if rework is not None:
        return rework
    return None if labour_rate is None else labour_rate * BEFORE_HANDOVER * REPAIR_HOURS[place.step]


def cheapest_limit(
    rows: list[tuple[dict[str, Any], float]], place: Place, put_right: float, rng: np.random.Generator
) -> CheapestLimit:
    """The cheapest limit on the grid, from the reference to the worse end.

    rows  rows of dose_fits of one deviation, one a fault, each with the cost of one callback of it
    """
    order = towards_worse(rows[0][0], place)
    grid, doors = (np.array(rows[0][0][name])[order] for name in ("grid", "doors_with_ends"))
    stakes = []
    for row, cost in rows:
        curve = fitted_curve(row)
        curves = np.vstack([curve.log_ratios, curve.draws(N_DRAWS, rng)])[:, order]
        stakes.append(Stakes(curves, np.array(row["callbacks"])[order], cost))
    at = cheapest(costs_of_limits(doors, put_right, stakes))
    last = len(grid) - 1
    ends = np.quantile(at[1:], [0.025, 0.975], method="nearest").astype(int)
    value, soonest, latest = (None if number == last else float(grid[number]) for number in (at[0], *ends))
    low, high = (latest, soonest) if place.is_lower_worse else (soonest, latest)
    return CheapestLimit(value, low, high)
