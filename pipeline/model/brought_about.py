"""What one cause brings about in later ones: whether an earlier deviation stands behind one that the records show.

A deviation that makes another cannot help passing on what that does, even where its own doors are too few to show it.
"""

from dataclasses import dataclass, field

import numpy as np

from pipeline.model.adjusters import Place, adjusters_of
from pipeline.model.pair_design import Firm
from pipeline.stats.intervals import Floats
from pipeline.stats.partial_slopes import PartialSlopes, partial_slopes

MOST_ROWS = 20_000  # enough to tell what one deviation passes on to another
LEAST_EXPLAINED = 0.01  # of the later one's variance within crews: a judgement
LEAST_TIMES = 4.0  # standard errors: a judgement


def comes_before(place: Place, later: Place, everything: dict[str, Place]) -> bool:
    """Of two geometries of one step each is adjusted for the other, and neither comes before."""
    return place.name in adjusters_of(later, everything) and later.name not in adjusters_of(place, everything)


@dataclass(frozen=True)
class BroughtAbout:
    """Of one firm, worked out once for each later cause that is asked for."""

    firm: Firm
    _found: dict[str, dict[str, tuple[float, float]]] = field(default_factory=dict)

    def of(self, later: Place) -> dict[str, tuple[float, float]]:
        """Earlier causes that make `later` worse: units worse of it for one unit worse of each, and standard error.

        Within crews, the door and all other earlier causes held still.
        """
        if later.name not in self._found:
            self._found[later.name] = self._looked_up(later)
        return self._found[later.name]

    def _looked_up(self, later: Place) -> dict[str, tuple[float, float]]:
        everything = self.firm.places
        earlier = [
            place for place in everything.values()
            if place.role == "cause" and comes_before(place, later, everything) and self.firm.is_told(place)
        ]  # fmt: skip
        slopes = self._slopes(later, earlier) if earlier else None
        if slopes is None:
            return {}
        found = {}
        for k, place in enumerate(earlier):
            passed, error = slopes.slopes[k] * place.sign * later.sign, slopes.errors[k]
            if slopes.explained[k] >= LEAST_EXPLAINED and passed >= LEAST_TIMES * error:
                found[place.name] = float(passed), float(error)
        return found

    def _slopes(self, later: Place, earlier: list[Place]) -> PartialSlopes | None:
        values = self.firm.values
        rows = np.flatnonzero(np.isfinite(values[:, later.ordinal]))
        rows = rows[:: max(1, len(rows) // MOST_ROWS)]
        columns = [_filled(values[rows, place.ordinal]) for place in earlier]
        others = np.column_stack([*columns, self.firm.covariates.matrix[rows]])
        return partial_slopes(values[rows, later.ordinal], others, self.firm.groups[rows])


def _filled(column: Floats) -> Floats:
    """The mean in place of what is not recorded."""
    is_seen = np.isfinite(column)
    return np.where(is_seen, column, column[is_seen].mean() if is_seen.any() else 0.0)
