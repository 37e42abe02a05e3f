"""The causes that enter: those with evidence, in the worse direction, with how a door is set against a good one.

What explains a callback and what is to be rechecked stand on the same pairs.
"""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.model.adjusters import Place, adjusters_of
from pipeline.model.pair_design import Firm
from pipeline.stats.credit import passing_on
from pipeline.stats.intervals import Z95, Floats

MOST_ROWS = 20_000  # enough to tell what one deviation passes on to another


@dataclass(frozen=True)
class Entered:
    """The causes of one fault that enter, in the order of the work: acts of a step before its geometry.

    references (K,)       a good door's values: the better end of what the doors show, a check passed
    coefficients (K,)     log hazard ratio for one unit worse, above 0; errors (K,) their standard errors
    passed_on (K, K)      units of a later cause for one unit of an earlier one
    """

    fault: str
    places: tuple[Place, ...]
    references: Floats
    coefficients: Floats
    errors: Floats
    passed_on: Floats

    @property
    def columns(self) -> list[int]:
        """Where the causes stand among all deviations."""
        return [place.ordinal for place in self.places]

    def excess(self, values: Floats) -> Floats:
        """(n, K) how far the doors' values (n, K) are worse than the references; 0 where not, nan if not recorded."""
        return excess_of(values, self.places, self.references)


def excess_of(values: Floats, places: tuple[Place, ...], references: Floats) -> Floats:
    """(n, K) how far values (n, K) lie beyond references (K,) in the worse direction; nan where not recorded."""
    signs = np.array([place.sign for place in places])
    return np.maximum((values - references) * signs, 0.0)


def entered_causes(effects: pl.DataFrame, firm: Firm) -> dict[str, Entered]:
    """The causes that enter, by fault; only faults with one at least.

    effects  the table; a pair enters with strong evidence, or suggestive where the trade expects it, if the fault is
             then the more frequent the worse the deviation
    """
    is_found = (pl.col("evidence") == "strong") | ((pl.col("evidence") == "suggestive") & pl.col("is_expected"))
    rows = effects.filter((pl.col("role") == "cause") & is_found & (pl.col("contrast_ratio") > 1))
    found: dict[str, list[dict[str, object]]] = {}
    for row in rows.sort("fault", "deviation").iter_rows(named=True):
        found.setdefault(row["fault"], []).append(row)
    return {
        fault: _entered(fault, sorted(pairs, key=lambda row: firm.places[str(row["deviation"])].in_order), firm)
        for fault, pairs in found.items()
    }


def _entered(fault: str, pairs: list[dict[str, object]], firm: Firm) -> Entered:
    places = tuple(firm.places[str(pair["deviation"])] for pair in pairs)
    numbers = pl.DataFrame(pairs, infer_schema_length=None)
    per = numbers["per"].to_numpy()
    signs = np.array([place.sign for place in places])
    logs = {name: np.log(numbers[name].to_numpy()) / per for name in ("hazard_ratio", "hr_low", "hr_high")}
    held = [set(adjusters_of(place, firm.places)) for place in places]
    # of two geometries of one step each is adjusted for the other, and neither comes before
    earlier = np.array(
        [[other.name in held[k] and place.name not in held[j] for j, other in enumerate(places)]
         for k, place in enumerate(places)]
    )  # fmt: skip
    step = max(1, len(firm.values) // MOST_ROWS)
    values = firm.values[::step][:, [place.ordinal for place in places]]
    return Entered(
        fault=fault,
        places=places,
        references=numbers["contrast_from"].to_numpy(),
        coefficients=logs["hazard_ratio"] * signs,
        errors=(logs["hr_high"] - logs["hr_low"]) / (2 * Z95),
        passed_on=passing_on(values, earlier, firm.groups[::step]) * np.outer(signs, signs),
    )
