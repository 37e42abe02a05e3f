"""The causes that enter, in the worse direction, with how a door is set against a good one.

What is to be rechecked stands on the pairs with evidence; what explains a callback on these too, and on what the trade
expects of a fault as far as this firm's records bear the trade out.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import polars as pl

from pipeline.model.adjusters import Place
from pipeline.model.bent_effects import Bend, bends
from pipeline.model.brought_about import BroughtAbout, comes_before
from pipeline.model.evidence import SHOWN
from pipeline.model.pair_design import Firm, contrast_of
from pipeline.stats.credit import passing_on
from pipeline.stats.intervals import Z95, Floats
from pipeline.stats.two_groups import Belief, TwoGroups, two_groups

MOST_ROWS = 20_000  # enough to tell what one deviation passes on to another
LEAST_PAIRS = 10  # that can be told, to say what the trade's expectation is worth at this firm
MOST_APART = 3.0  # standard errors: a cause's own estimate contradicts what it passes on
LEAST_BROUGHT = float(np.log(1.05))  # over the contrast: what a strong effect is too, at the least


@dataclass(frozen=True)
class Entered:
    """The causes of one fault that enter, in the order of the work: acts of a step before its geometry.

    references (K,)       a good door's values: the better end of what the doors show, a check passed
    coefficients (K,)     log hazard ratio for one unit worse, above 0; errors (K,) their standard errors
    chances (K,)          that the effect is that at all, and not nothing: 1 with evidence
    possible (3, K)       the same three, chance, coefficient and error, for what may be: small effects hide
    passed_on (K, K)      units of a later cause for one unit of an earlier one
    evidence (K,)         what effects says of each and this fault
    through (K,)          the cause with evidence that it counts by way of; None where it counts by itself
    bends (K,)            the curve of its effect where that is no straight line; else None
    """

    places: tuple[Place, ...]
    references: Floats
    coefficients: Floats
    errors: Floats
    chances: Floats
    possible: Floats
    passed_on: Floats
    evidence: tuple[str, ...]
    through: tuple[str | None, ...]
    bends: tuple[Bend | None, ...]

    @property
    def columns(self) -> list[int]:
        """Where the causes stand among all deviations."""
        return [place.ordinal for place in self.places]

    def excess(self, values: Floats) -> Floats:
        """(n, K) how far the doors' values (n, K) are worse than the references; 0 where not, nan if not recorded."""
        return excess_of(values, self.places, self.references)

    def straightened(self, excess: Floats) -> Floats:
        """(n, K) what to multiply the excess with, so that each unit counts as the coefficient says."""
        factors = np.ones_like(excess)
        for k, bend in enumerate(self.bends):
            if bend is not None:
                factors[:, k] = bend.per_unit(excess[:, k], self.coefficients[k])
        return factors


def excess_of(values: Floats, places: tuple[Place, ...], references: Floats) -> Floats:
    """(n, K) how far values (n, K) lie beyond references (K,) in the worse direction; nan where not recorded."""
    signs = np.array([place.sign for place in places])
    return np.maximum((values - references) * signs, 0.0)


@dataclass(frozen=True)
class _Cause:
    """One cause of a fault: reference in its unit, log hazard ratio for one unit worse and its standard error.

    chance    that it is that, and not nothing
    possible  chance, coefficient and error for what may be
    through   name of the cause with evidence that it counts by way of
    """

    fault: str
    place: Place
    reference: float
    coefficient: float
    error: float
    chance: float
    possible: tuple[float, float, float]
    evidence: str
    through: str | None = None
    bend: Bend | None = None


def entered_causes(effects: pl.DataFrame, firm: Firm) -> dict[str, Entered]:
    """The causes that enter, by fault; only faults with one at least.

    effects  the table; a pair enters with strong evidence, or suggestive where the trade expects it, if the fault is
             then the more frequent the worse the deviation
    """
    return _by_fault(_shown(effects, firm), firm)


def causes_to_credit(effects: pl.DataFrame, dose_fits: pl.DataFrame, firm: Firm) -> dict[str, Entered]:
    """The causes that enter, and those that the trade expects of a fault though the records do not show them.

    Each of these counts as much as is to be expected of it: from its own estimate seen against all pairs that the trade
    expects, or from these alone where too few of its doors came back. None enters where fewer than `LEAST_PAIRS` of
    them can be told, nor what more doors would not tell either (see doors_needed of effects). A cause that brings about
    one that the records show counts by what it passes on, see `_with_brought`; one whose effect surely is no straight
    line by its curve.
    """
    shown = {(cause.fault, cause.place.name): cause for cause in _shown(effects, firm)}
    expected = {(cause.fault, cause.place.name): cause for cause in _only_expected(effects, firm)}
    causes = _with_brought(list({**shown, **expected}.values()), effects, firm)
    curves = bends(dose_fits, firm.places)
    return _by_fault([_bent(cause, curves.get((cause.fault, cause.place.name))) for cause in causes], firm)


def _bent(cause: _Cause, curve: tuple[float, Bend] | None) -> _Cause:
    if curve is None or cause.evidence != "strong":
        return cause
    return replace(cause, reference=curve[0], bend=curve[1])


def _only_expected(effects: pl.DataFrame, firm: Firm) -> list[_Cause]:
    rows = effects.filter((pl.col("role") == "cause") & pl.col("is_expected"))
    told = rows.filter(pl.col("contrast_ratio").is_not_null())
    if told.height < LEAST_PAIRS:
        return []
    errors = (told["contrast_high"] / told["contrast_low"]).log() / (2 * Z95)
    family = two_groups(told["contrast_ratio"].log(), errors)
    told = told.filter((pl.col("evidence") != "strong") | (pl.col("contrast_ratio") <= 1))
    untold = rows.filter((pl.col("evidence") == "too_few") & pl.col("doors_needed").is_not_null())
    expected = [
        *(_as_seen(family, row, firm) for row in told.iter_rows(named=True)),
        *(_unseen(family, row, firm) for row in untold.iter_rows(named=True) if firm.is_told(_place(row, firm))),
    ]
    return [cause for cause in expected if cause.coefficient > 0]


def _with_brought(causes: list[_Cause], effects: pl.DataFrame, firm: Firm) -> list[_Cause]:
    """The causes with those that bring about a later one with strong evidence, the last in the order of the work first.

    What such a cause does by way of later ones is what it passes on to each times what that does (the product of
    coefficients; MacKinnon (2008), Introduction to Statistical Mediation Analysis, chapter 3), held together with its
    own estimate unless the two contradict each other.
    """
    brought = BroughtAbout(firm)
    rows = {(row["fault"], row["deviation"]): row for row in effects.iter_rows(named=True)}
    found = list(causes)
    for fault in sorted({cause.fault for cause in causes}):
        carriers = [cause for cause in causes if cause.fault == fault and cause.evidence == "strong"]
        shown = {cause.place.name for cause in causes if cause.fault == fault and cause.evidence in SHOWN}
        for place in sorted(firm.places.values(), key=lambda place: place.in_order, reverse=True):
            row = rows.get((fault, place.name))
            passed = [(cause, *brought.of(cause.place).get(place.name, (0.0, 0.0))) for cause in carriers]
            passed = [part for part in passed if part[1] > 0]
            if not passed or row is None or place.name in shown or place.role != "cause":
                continue
            cause = _by_way_of(passed, row, firm)
            if cause is not None:
                carriers.append(cause)
                found = [one for one in found if (one.fault, one.place) != (fault, place)] + [cause]
    return found


def _by_way_of(passed: list[tuple[_Cause, float, float]], row: dict[str, Any], firm: Firm) -> _Cause | None:
    """passed  later causes with the units passed on to each, and the standard error of these"""
    good, bad = _ends(row, firm)
    wide = abs(bad - good)
    middle = sum(units * later.coefficient for later, units, _ in passed)
    square = sum((units * later.error) ** 2 + (error * later.coefficient) ** 2 for later, units, error in passed)
    if row["contrast_ratio"] is not None:
        own, own_square = np.log(row["contrast_ratio"]) / wide, (_error(row) / wide) ** 2
        if abs(own - middle) > MOST_APART * np.sqrt(square + own_square):
            return None
        middle, square = (
            (middle / square + own / own_square) / (1 / square + 1 / own_square),
            1 / (1 / square + 1 / own_square),
        )
    error = float(np.sqrt(square))
    if middle < Z95 * error or middle * wide < LEAST_BROUGHT:
        return None
    main = max(passed, key=lambda part: part[1] * part[0].coefficient)[0]
    known = (1.0, float(middle), error)
    through = main.through or main.place.name
    return _Cause(row["fault"], _place(row, firm), good, *known[1:], 1.0, known, row["evidence"], through)


def _place(row: dict[str, Any], firm: Firm) -> Place:
    return firm.places[row["deviation"]]


def _ends(row: dict[str, Any], firm: Firm) -> tuple[float, float]:
    """The better and the worse end of the contrast that a pair is or would be judged on."""
    if row["contrast_ratio"] is not None:
        return row["contrast_from"], row["contrast_to"]
    place = _place(row, firm)
    values = firm.values[:, place.ordinal]
    return place.better_first(*contrast_of(values[np.isfinite(values)], place))


def _error(row: dict[str, Any]) -> float:
    """Standard error of the logarithm of the contrast's ratio."""
    return float(np.log(row["contrast_high"] / row["contrast_low"]) / (2 * Z95))


def _shown(effects: pl.DataFrame, firm: Firm) -> list[_Cause]:
    is_found = (pl.col("evidence") == "strong") | ((pl.col("evidence") == "suggestive") & pl.col("is_expected"))
    rows = effects.filter((pl.col("role") == "cause") & is_found & (pl.col("contrast_ratio") > 1))
    return [_as_found(row, firm) for row in rows.iter_rows(named=True)]


def _as_found(row: dict[str, Any], firm: Firm) -> _Cause:
    place = _place(row, firm)
    low, middle, high = (np.log(row[name]) / row["per"] for name in ("hr_low", "hazard_ratio", "hr_high"))
    coefficient, error = middle * place.sign, (high - low) / (2 * Z95)
    known = (1.0, coefficient, error)
    return _Cause(row["fault"], place, row["contrast_from"], coefficient, error, 1.0, known, row["evidence"])


def _as_seen(family: TwoGroups, row: dict[str, Any], firm: Firm) -> _Cause:
    seen = float(np.log(row["contrast_ratio"])), _error(row)
    return _expected(row, (family.seen(*seen), family.with_small_ones().seen(*seen)), firm)


def _unseen(family: TwoGroups, row: dict[str, Any], firm: Firm) -> _Cause:
    return _expected(row, (family.unseen(), family.with_small_ones().unseen()), firm)


def _expected(row: dict[str, Any], beliefs: tuple[Belief, Belief], firm: Firm) -> _Cause:
    """beliefs  for what is to be expected, and for what may be"""
    good, bad = _ends(row, firm)
    wide = abs(bad - good)
    belief, possible = ((own.chance, own.mean / wide, own.spread / wide) for own in beliefs)
    return _Cause(row["fault"], _place(row, firm), good, belief[1], belief[2], belief[0], possible, row["evidence"])


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
    earlier = np.array([[comes_before(other, place, firm.places) for other in places] for place in places])
    told = enough_doors(firm)
    values = firm.values[told][:, [place.ordinal for place in places]]
    return Entered(
        places=places,
        references=np.array([cause.reference for cause in causes]),
        coefficients=np.array([cause.coefficient for cause in causes]),
        errors=np.array([cause.error for cause in causes]),
        chances=np.array([cause.chance for cause in causes]),
        possible=np.array([cause.possible for cause in causes]).T,
        passed_on=passing_on(values, earlier, firm.groups[told]) * np.outer(signs, signs),
        evidence=tuple(cause.evidence for cause in causes),
        through=tuple(cause.through for cause in causes),
        bends=tuple(cause.bend for cause in causes),
    )
