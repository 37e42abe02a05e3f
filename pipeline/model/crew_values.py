"""The causes of all doors beside each other, in the order of the work; what is not recorded taken for the crew's usual.

Crews differ in how they work, so a door of which something is not recorded is like the crew's other doors, not like the
firm's. A crew that recorded it on few doors is drawn towards the firm by as much as it is not known. What the door
makes of a cause in anybody's hands (a wide sill bends more) is taken out: it is no crew's doing.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pipeline.model.adjusters import Place
from pipeline.model.covariates import standardised
from pipeline.model.pair_design import Firm
from pipeline.stats.cross_products import cross_products
from pipeline.stats.intervals import Floats

LEAST_VARIANCE = 1e-6
MOST_DOORS = 100_000  # enough to tell what the door makes of a cause


@dataclass(frozen=True)
class CrewValues:
    """values (n, q) beyond what such a door has in any hands, in standard deviations of the cause; is_missing (n, q).

    places (q,)       acts of a step before its geometry
    within (q,)       variance of a cause between the doors of one crew
    mean_error (G, q) variance of the crew's mean that stands where a cause is not recorded
    """

    values: Floats
    is_missing: NDArray[np.bool_]
    places: tuple[Place, ...]
    within: Floats
    mean_error: Floats

    @cached_property
    def gaps(self) -> NDArray[np.bool_]:
        """(n, g) where causes are not recorded, without those that are missing nowhere; alike ones once."""
        varies = self.is_missing.any(axis=0) & ~self.is_missing.all(axis=0)
        return np.asarray(np.unique(self.is_missing[:, varies], axis=1))

    def until(self, step_order: int) -> int:
        """How many of the causes belong to this step or an earlier one."""
        return sum(place.step_order <= step_order for place in self.places)


def crew_values(firm: Firm) -> CrewValues:
    """The causes recorded on enough doors to stand for all, without those that are the same on all."""
    causes = [place for place in firm.places.values() if place.role == "cause" and firm.is_told(place)]
    causes.sort(key=lambda place: place.in_order)
    n, n_crews = len(firm.groups), int(firm.groups.max()) + 1
    values, missing = np.zeros((n, len(causes))), np.zeros((n, len(causes)), dtype=bool)
    within, error = np.zeros(len(causes)), np.zeros((n_crews, len(causes)))
    for column, place in enumerate(causes):
        scaled, is_missing = standardised(firm.values[:, place.ordinal])
        scaled = scaled - firm.covariates.matrix @ _of_door(firm, scaled, is_missing == 0)
        mean, error[:, column], within[column] = _crew_means(scaled, is_missing == 0, firm.groups, n_crews)
        missing[:, column] = is_missing > 0
        values[:, column] = np.where(missing[:, column], mean[firm.groups], scaled)
    return CrewValues(values, missing, tuple(causes), within, error)


def _of_door(firm: Firm, scaled: Floats, is_seen: NDArray[np.bool_]) -> Floats:
    """(p,) by least squares within crews, what the door's columns say of a cause; ridge of one door each."""
    rows = np.flatnonzero(is_seen)[:: max(1, len(scaled) // MOST_DOORS)]
    both = np.column_stack([firm.covariates.matrix[rows], scaled[rows]])
    products = cross_products(both, np.ones(len(rows)), firm.groups[rows]).within
    return np.asarray(np.linalg.solve(products[:-1, :-1] + np.eye(len(products) - 1), products[:-1, -1]))


def _crew_means(
    scaled: Floats, is_seen: NDArray[np.bool_], groups: NDArray[np.int64], n_crews: int
) -> tuple[Floats, Floats, float]:
    """(G,) means drawn to the firm's, which is 0, with their variances, and the variance within crews.

    Variance between crews by moments: DerSimonian and Laird (1986), Control. Clin. Trials 7, 177-188.
    """
    counts = np.bincount(groups, is_seen, n_crews)
    means = np.bincount(groups, np.where(is_seen, scaled, 0.0), n_crews) / np.maximum(counts, 1)
    squares = np.where(is_seen, (scaled - means[groups]) ** 2, 0.0).sum()
    has, total = counts > 0, counts.sum()
    within = max(float(squares / max(total - has.sum(), 1)), LEAST_VARIANCE)
    room = total - (counts**2).sum() / total
    spare = float(counts @ means**2) - (has.sum() - 1) * within
    between = max(spare / room if room > 0 else 0.0, LEAST_VARIANCE)
    known = counts / within
    return means * known / (known + 1 / between), 1 / (known + 1 / between), within


def passed_forward(found: CrewValues, groups: NDArray[np.int64], until: int) -> Floats:
    """(until, q) for each of the first causes, what one more of it comes to in every cause once it has passed it on.

    The first causes count themselves; a later one is what they say of it, by least squares within crews.
    """
    products = cross_products(found.values, np.ones(len(groups)), groups).within
    first, ridge = products[:until, :until], 1e-6 * np.trace(products) / len(products)
    forward = np.eye(until, found.values.shape[1])
    forward[:, until:] = np.linalg.solve(first + ridge * np.eye(until), products[:until, until:])
    return forward
