"""Everything recorded of a door as columns that foretell, each of a kind that shares one width of its prior."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.model.covariates import standardised
from pipeline.model.study import Study
from pipeline.stats.intervals import Floats
from pipeline.stats.prior_spreads import Spreads

DOOR, EXPECTED, UNEXPECTED, SYMPTOM, GAP = range(5)
# Where a firm's own records begin from: the door; a cause the trade expects of the fault; any other; how a fault
# begins; that something is not recorded; a crew. Judgements, no source; the records move them.
USUAL = Spreads(np.array([0.25, 0.3, 0.1, 0.15, 0.1]), 0.25)


@dataclass(frozen=True)
class RiskColumns:
    """matrix (n, p); kinds (p,); ordinals (p,) of the deviation a column is the value of, else -1; spreads (p,)."""

    matrix: Floats
    kinds: NDArray[np.int64]
    ordinals: NDArray[np.int64]
    spreads: Floats

    def kinds_for(self, fault: str, study: Study) -> NDArray[np.int64]:
        """(p,) the kinds where this fault is foretold: the causes that the trade expects of it apart."""
        names = {deviation for deviation, of in study.expected_pairs if of == fault}
        expected = [place.ordinal for place in study.firm.places.values() if place.name in names]
        return np.where(np.isin(self.ordinals, expected), EXPECTED, self.kinds)


def risk_columns(study: Study) -> RiskColumns:
    """The door, causes and symptoms in standard deviations, and what is not recorded of them.

    Left out: what is recorded on too few doors to stand for all, and what is the same on all.
    """
    firm = study.firm
    found = [(firm.covariates.matrix[:, k], DOOR, -1, 1.0) for k in range(len(firm.covariates.names))]
    for place in firm.places.values():
        values = firm.values[:, place.ordinal]
        if place.role not in ("cause", "symptom") or not firm.is_told(place):
            continue
        scaled, missing = standardised(values)
        kind = SYMPTOM if place.role == "symptom" else UNEXPECTED
        found.append((scaled, kind, place.ordinal, float(np.nanstd(values))))
        if 0 < missing.mean() < 1:
            found.append((missing - missing.mean(), GAP, -1, 1.0))
    kinds, ordinals = (np.array([row[k] for row in found], dtype=np.int64) for k in (1, 2))
    return RiskColumns(
        np.column_stack([column for column, *_ in found]) if found else np.zeros((len(firm.groups), 0)),
        kinds,
        ordinals,
        np.array([row[3] for row in found]),
    )
