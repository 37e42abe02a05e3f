"""The causes that enter, in the worse direction, with how a door is set against a good one.

What is to be rechecked stands on the pairs with evidence; what explains a callback on these too, and on what the trade
expects of a fault as far as this firm's records bear the trade out.
"""

from dataclasses import astuple, dataclass, replace
from typing import Any

import numpy as np
import polars as pl

from pipeline.model.adjusters import Place
from pipeline.model.bent_effects import Bend, bends
from pipeline.model.brought_about import MOST_ROWS, BroughtAbout, comes_before
from pipeline.model.evidence import SHOWN, STRONG_NEAR_END
from pipeline.model.pair_design import Firm, contrast_of
from pipeline.stats.credit import passing_on
from pipeline.stats.intervals import Z95, Floats, log_error
from pipeline.stats.two_groups import Belief, TwoGroups, two_groups

LEAST_PAIRS = 10  # that can be told, to say what the trade's expectation is worth at this firm
MOST_APART = 3.0  # standard errors: a cause's own estimate contradicts what it passes on
LEAST_BROUGHT = float(np.log(STRONG_NEAR_END))  # over the contrast: what a strong effect is too, at the least


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
        return np.maximum(self.distance(values), 0.0)

    def distance(self, values: Floats) -> Floats:
        """(n, K) the same, below 0 where they are better."""
        return (values - self.references) * np.array([place.sign for place in self.places])

    def straightened(self, excess: Floats) -> Floats:
        """(n, K) what to multiply the excess with, so that each unit counts as the coefficient says."""
        factors = np.ones_like(excess)
        for k, bend in enumerate(self.bends):
            if bend is not None:
                factors[:, k] = bend.per_unit(excess[:, k], self.coefficients[k])
        return factors


@dataclass(frozen=True)
class _Cause:
    """One cause of a fault: reference in its unit, and what its log hazard ratio for one unit worse is.

    expected  what is to be expected of it; possible: what may be
    through   name of the cause with evidence that it counts by way of
    """

    fault: str
    place: Place
    reference: float
    expected: Belief
    possible: Belief
    evidence: str
    through: str | None = None
    bend: Bend | None = None

    @property
    def pair(self) -> tuple[str, str]:
        """Its fault and its deviation."""
        return self.fault, self.place.name


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
    found = [*_shown(effects, firm), *_only_expected(effects, firm)]
    # of one that is suggestive and expected, the last: what is to be expected of it
    causes = _with_brought(list({cause.pair: cause for cause in found}.values()), effects, firm)
    curves = bends(dose_fits, firm.places)
    return _by_fault([_bent(cause, curves.get(cause.pair)) for cause in causes], firm)


def _bent(cause: _Cause, curve: tuple[float, Bend] | None) -> _Cause:
    if curve is None or cause.evidence != "strong":
        return cause
    return replace(cause, reference=curve[0], bend=curve[1])


def _only_expected(effects: pl.DataFrame, firm: Firm) -> list[_Cause]:
    rows = effects.filter((pl.col("role") == "cause") & pl.col("is_expected"))
    told = rows.filter(pl.col("contrast_ratio").is_not_null())
    if told.height < LEAST_PAIRS:
        return []
    family = two_groups(told["contrast_ratio"].log(), log_error(told["contrast_low"], told["contrast_high"]))
    told = told.filter((pl.col("evidence") != "strong") | (pl.col("contrast_ratio") <= 1))
    untold = rows.filter((pl.col("evidence") == "too_few") & pl.col("doors_needed").is_not_null())
    expected = [
        *(_as_seen(family, row, firm) for row in told.iter_rows(named=True)),
        *(_unseen(family, row, firm) for row in untold.iter_rows(named=True) if firm.is_told(_place(row, firm))),
    ]
    return [cause for cause in expected if cause.expected.mean > 0]


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
            makes = [(cause, brought.of(cause.place).get(place.name)) for cause in carriers]
            passed = [(cause, *units) for cause, units in makes if units is not None]
            if not passed or row is None or place.name in shown:
                continue
            cause = _by_way_of(passed, row, firm)
            if cause is not None:
                carriers.append(cause)
                found = [one for one in found if one.pair != cause.pair] + [cause]
    return found


def _by_way_of(passed: list[tuple[_Cause, float, float]], row: dict[str, Any], firm: Firm) -> _Cause | None:
    """passed  later causes with the units passed on to each, and the standard error of these"""
    good, bad = _ends(row, firm)
    wide = abs(bad - good)
    does = [(later.expected, units, error) for later, units, error in passed]
    middle = sum(units * later.mean for later, units, _ in does)
    square = sum((units * later.spread) ** 2 + (error * later.mean) ** 2 for later, units, error in does)
    if row["contrast_ratio"] is not None:
        own, own_square = np.log(row["contrast_ratio"]) / wide, (_error(row) / wide) ** 2
        if abs(own - middle) > MOST_APART * np.sqrt(square + own_square):
            return None
        precision = 1 / square + 1 / own_square
        middle, square = (middle / square + own / own_square) / precision, 1 / precision
    error = float(np.sqrt(square))
    if middle < Z95 * error or middle * wide < LEAST_BROUGHT:
        return None
    main = max(passed, key=lambda part: part[1] * part[0].expected.mean)[0]
    known = Belief(1.0, float(middle), error)
    through = main.through or main.place.name
    return _Cause(row["fault"], _place(row, firm), good, known, known, row["evidence"], through)


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
    return float(log_error(row["contrast_low"], row["contrast_high"]))


def _shown(effects: pl.DataFrame, firm: Firm) -> list[_Cause]:
    is_found = (pl.col("evidence") == "strong") | ((pl.col("evidence") == "suggestive") & pl.col("is_expected"))
    rows = effects.filter((pl.col("role") == "cause") & is_found & (pl.col("contrast_ratio") > 1))
    return [_as_found(row, firm) for row in rows.iter_rows(named=True)]


def _as_found(row: dict[str, Any], firm: Firm) -> _Cause:
    place = _place(row, firm)
    low, middle, high = (np.log(row[name]) / row["per"] for name in ("hr_low", "hazard_ratio", "hr_high"))
    known = Belief(1.0, middle * place.sign, (high - low) / (2 * Z95))
    return _Cause(row["fault"], place, row["contrast_from"], known, known, row["evidence"])


def _as_seen(family: TwoGroups, row: dict[str, Any], firm: Firm) -> _Cause:
    seen = float(np.log(row["contrast_ratio"])), _error(row)
    return _expected(row, (family.seen(*seen), family.with_small_ones().seen(*seen)), firm)


def _unseen(family: TwoGroups, row: dict[str, Any], firm: Firm) -> _Cause:
    return _expected(row, (family.unseen(), family.with_small_ones().unseen()), firm)


def _expected(row: dict[str, Any], beliefs: tuple[Belief, Belief], firm: Firm) -> _Cause:
    """beliefs  for what is to be expected, and for what may be"""
    good, bad = _ends(row, firm)
    wide = abs(bad - good)
    expected, possible = (Belief(own.chance, own.mean / wide, own.spread / wide) for own in beliefs)
    return _Cause(row["fault"], _place(row, firm), good, expected, possible, row["evidence"])


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
        coefficients=np.array([cause.expected.mean for cause in causes]),
        errors=np.array([cause.expected.spread for cause in causes]),
        chances=np.array([cause.expected.chance for cause in causes]),
        possible=np.array([astuple(cause.possible) for cause in causes]).T,
        passed_on=passing_on(values, earlier, firm.groups[told]) * np.outer(signs, signs),
        evidence=tuple(cause.evidence for cause in causes),
        through=tuple(cause.through for cause in causes),
        bends=tuple(cause.bend for cause in causes),
    )
