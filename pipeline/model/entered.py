"""The causes that enter, in the worse direction, with how a door is set against a good one.

What is to be rechecked stands on the pairs with evidence; what explains a callback on these too, and on what the trade
expects of a fault as far as this firm's records bear the trade out.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from pipeline.model.adjusters import Place, adjusters_of
from pipeline.model.pair_design import Firm, contrast_of
from pipeline.stats.credit import passing_on
from pipeline.stats.intervals import Z95, Floats
from pipeline.stats.two_groups import Belief, TwoGroups, two_groups

MOST_ROWS = 20_000  # enough to tell what one deviation passes on to another
LEAST_PAIRS = 10  # that can be told, to say what the trade's expectation is worth at this firm


@dataclass(frozen=True)
class Entered:
    """The causes of one fault that enter, in the order of the work: acts of a step before its geometry.

    references (K,)       a good door's values: the better end of what the doors show, a check passed
    coefficients (K,)     log hazard ratio for one unit worse, above 0; errors (K,) their standard errors
    chances (K,)          that the effect is that at all, and not nothing: 1 with evidence
    passed_on (K, K)      units of a later cause for one unit of an earlier one
    evidence (K,)         what effects says of each and this fault
    """

    places: tuple[Place, ...]
    references: Floats
    coefficients: Floats
    errors: Floats
    chances: Floats
    passed_on: Floats
    evidence: tuple[str, ...]

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


@dataclass(frozen=True)
class _Cause:
    """One cause of a fault: reference in its unit, log hazard ratio for one unit worse and its standard error.

    chance  that it is that, and not nothing
    """

    fault: str
    place: Place
    reference: float
    coefficient: float
    error: float
    chance: float
    evidence: str


def entered_causes(effects: pl.DataFrame, firm: Firm) -> dict[str, Entered]:
    """The causes that enter, by fault; only faults with one at least.

    effects  the table; a pair enters with strong evidence, or suggestive where the trade expects it, if the fault is
             then the more frequent the worse the deviation
    """
    return _by_fault(_shown(effects, firm), firm)


def causes_to_credit(effects: pl.DataFrame, firm: Firm) -> dict[str, Entered]:
    """The causes that enter, and those that the trade expects of a fault though the records do not show them.

    Each of these counts as much as is to be expected of it: from its own estimate seen against all pairs that the trade
    expects, or from these alone where too few of its doors came back. None enters where fewer than `LEAST_PAIRS` of
    them can be told, nor what more doors would not tell either (see doors_needed of effects).
    """
    shown = _shown(effects, firm)
    rows = effects.filter((pl.col("role") == "cause") & pl.col("is_expected"))
    told = rows.filter(pl.col("contrast_ratio").is_not_null())
    if told.height < LEAST_PAIRS:
        return _by_fault(shown, firm)
    errors = (told["contrast_high"] / told["contrast_low"]).log() / (2 * Z95)
    family = two_groups(told["contrast_ratio"].log(), errors)
    told = told.with_columns(error=errors).filter((pl.col("evidence") == "none") | (pl.col("contrast_ratio") <= 1))
    untold = rows.filter((pl.col("evidence") == "too_few") & pl.col("doors_needed").is_not_null())
    expected = [
        *(_as_seen(family, row, firm) for row in told.iter_rows(named=True)),
        *(_unseen(family, row, firm) for row in untold.iter_rows(named=True) if firm.is_told(_place(row, firm))),
    ]
    return _by_fault([*shown, *(cause for cause in expected if cause.coefficient > 0)], firm)


def _place(row: dict[str, Any], firm: Firm) -> Place:
    return firm.places[row["deviation"]]


def _shown(effects: pl.DataFrame, firm: Firm) -> list[_Cause]:
    is_found = (pl.col("evidence") == "strong") | ((pl.col("evidence") == "suggestive") & pl.col("is_expected"))
    rows = effects.filter((pl.col("role") == "cause") & is_found & (pl.col("contrast_ratio") > 1))
    return [_as_found(row, firm) for row in rows.iter_rows(named=True)]


def _as_found(row: dict[str, Any], firm: Firm) -> _Cause:
    place = _place(row, firm)
    low, middle, high = (np.log(row[name]) / row["per"] for name in ("hr_low", "hazard_ratio", "hr_high"))
    coefficient, error = middle * place.sign, (high - low) / (2 * Z95)
    return _Cause(row["fault"], place, row["contrast_from"], coefficient, error, 1.0, row["evidence"])


def _as_seen(family: TwoGroups, row: dict[str, Any], firm: Firm) -> _Cause:
    belief = family.seen(float(np.log(row["contrast_ratio"])), row["error"])
    return _expected(row, belief, (row["contrast_from"], row["contrast_to"]), firm)


def _unseen(family: TwoGroups, row: dict[str, Any], firm: Firm) -> _Cause:
    place = _place(row, firm)
    values = firm.values[:, place.ordinal]
    ends = place.better_first(*contrast_of(values[np.isfinite(values)], place))
    return _expected(row, family.unseen(), ends, firm)


def _expected(row: dict[str, Any], belief: Belief, ends: tuple[float, float], firm: Firm) -> _Cause:
    """ends  the better and the worse end of the contrast"""
    wide = abs(ends[1] - ends[0])
    coefficient, error = belief.mean / wide, belief.spread / wide
    return _Cause(row["fault"], _place(row, firm), ends[0], coefficient, error, belief.chance, row["evidence"])


def _by_fault(causes: list[_Cause], firm: Firm) -> dict[str, Entered]:
    found: dict[str, list[_Cause]] = {}
    for cause in sorted(causes, key=lambda cause: cause.place.in_order):
        found.setdefault(cause.fault, []).append(cause)
    return {fault: _entered(of_fault, firm) for fault, of_fault in found.items()}


def enough_doors(firm: Firm) -> slice:
    """Every so many of the firm's doors: enough to tell how deviations go together."""
    return slice(None, None, max(1, len(firm.values) // MOST_ROWS))


def _entered(causes: list[_Cause], firm: Firm) -> Entered:
    places = tuple(cause.place for cause in causes)
    signs = np.array([place.sign for place in places])
    held = [set(adjusters_of(place, firm.places)) for place in places]
    # of two geometries of one step each is adjusted for the other, and neither comes before
    earlier = np.array(
        [[other.name in held[k] and place.name not in held[j] for j, other in enumerate(places)]
         for k, place in enumerate(places)]
    )  # fmt: skip
    told = enough_doors(firm)
    values = firm.values[told][:, [place.ordinal for place in places]]
    return Entered(
        places=places,
        references=np.array([cause.reference for cause in causes]),
        coefficients=np.array([cause.coefficient for cause in causes]),
        errors=np.array([cause.error for cause in causes]),
        chances=np.array([cause.chance for cause in causes]),
        passed_on=passing_on(values, earlier, firm.groups[told]) * np.outer(signs, signs),
        evidence=tuple(cause.evidence for cause in causes),
    )
