"""What a crew's rate would be on the firm's mix of doors, told only where the crew has met that mix.

Doors are ordered by their risk, by what is recorded of them alone, and cut into fifths of what the firm expects. In
each fifth the crew's callbacks are held against what an average crew would have had there; the fifths are then
weighted as the firm has them. Where a crew is as much better on hard doors as on easy ones this is its ratio times the
firm's rate; where not, the two differ, and that is what it is for.
Rule of overlap: in every fifth the crew's own doors must expect at least one callback, and at least a fifth of what
the firm's mix would give them; and of every recorded kind of door that brings a fifth or more of the firm's expected
callbacks, at least a tenth of the firm's share. Else nothing is said.
Sources: Breslow and Day (1987), Statistical Methods in Cancer Research II, chapter 2 (direct standardisation);
Miettinen (1976), Am. J. Epidemiol. 104, 609-620 (strata of a risk score); Cochran (1968), Biometrics 24, 295-313
(five strata).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.model.case_mix import ExpectedCounts
from pipeline.model.covariates import FACTORS, NOT_RECORDED, RARE, Columns
from pipeline.stats.direct_standard import standardised_rate
from pipeline.stats.intervals import Floats

FIFTHS = 5
LEAST_EXPECTED, LEAST_OF_FIFTH = 1.0, 0.2
COMMON_KIND, LEAST_OF_KIND = 0.2, 0.1
KINDS = (*FACTORS, "material and colour")


@dataclass(frozen=True)
class OnFirmsMix:
    """ratio, low, high of one crew on the firm's mix against the firm; nan where refused, and then why (else empty)."""

    ratio: float
    low: float
    high: float
    why_not: str = ""


def on_firms_mix(
    found: ExpectedCounts, covariates: Columns, counts: Floats, groups: NDArray[np.int64]
) -> list[OnFirmsMix]:
    """One a crew, in the order of its number. counts (n,) callbacks of each door; groups (n,) crew numbers."""
    fifth = fifths_of_risk(found.risk, found.by_door)
    shape = (int(groups.max()) + 1, int(fifth.max()) + 1)
    cell = np.ravel_multi_index((groups, fifth), shape)
    expected = np.bincount(cell, found.by_door, shape[0] * shape[1]).reshape(shape)
    seen = np.bincount(cell, counts, shape[0] * shape[1]).reshape(shape)
    missing = kinds_not_met(covariates, found.by_door, groups)
    firm = expected.sum(axis=0)
    return [
        _of_crew(seen[crew], expected[crew], firm, found.over_dispersion, missing[crew]) for crew in range(shape[0])
    ]


def fifths_of_risk(risk: Floats, expected: Floats) -> NDArray[np.int64]:
    """(n,) 0 for the easiest doors to 4: fifths of the events expected; doors of one risk are not torn apart."""
    order = np.argsort(risk, kind="stable")
    so_far = np.cumsum(expected[order]) / expected.sum()
    places = np.searchsorted(so_far, np.arange(1, FIFTHS) / FIFTHS).clip(0, len(risk) - 1)
    edges = np.unique(risk[order][places])
    _, fifth = np.unique(np.searchsorted(edges, risk, side="left"), return_inverse=True)
    return fifth.astype(np.int64)


def kinds_not_met(covariates: Columns, expected: Floats, groups: NDArray[np.int64]) -> list[str]:
    """For each crew the recorded kind of door that it has met too seldom, with the firm's share of it; or empty."""
    own = np.bincount(groups, expected)
    worst = [("", 0.0)] * len(own)
    for name, column in zip(covariates.names, covariates.matrix.T, strict=True):
        kind = next((kind for kind in KINDS if name.startswith(f"{kind} ")), None)
        share = float(expected @ column / expected.sum())
        if kind is None or name.endswith((NOT_RECORDED, RARE)) or share < COMMON_KIND:
            continue
        shares = np.divide(np.bincount(groups, expected * column), own, out=np.zeros(len(own)), where=own > 0)
        for crew in np.flatnonzero(shares < LEAST_OF_KIND * share):
            if share > worst[crew][1]:
                worst[crew] = (f"{kind}: {name.removeprefix(f'{kind} ')}", share)
    return [f"{name} ({share:.0%} of what the firm expects)" if name else "" for name, share in worst]


def _of_crew(seen: Floats, expected: Floats, firm: Floats, dispersion: float, missing: str) -> OnFirmsMix:
    nothing = (np.nan, np.nan, np.nan)
    if missing:
        return OnFirmsMix(*nothing, f"has hardly met doors of the kind {missing}")
    fair_share = expected.sum() * firm / firm.sum()
    short = (expected < LEAST_EXPECTED) | (expected < LEAST_OF_FIFTH * fair_share)
    if short.any():
        place = int(np.argmin(expected / fair_share)) if expected.sum() > 0 else 0
        which = {0: "easiest", len(firm) - 1: "hardest"}.get(place, "middling")
        return OnFirmsMix(
            *nothing,
            f"has met too few of the firm's {which} doors: {expected[place]:.1f} callbacks expected on them, "
            f"{max(LEAST_EXPECTED, LEAST_OF_FIFTH * fair_share[place]):.1f} needed",
        )
    rate = standardised_rate(seen, expected, firm, dispersion)
    return OnFirmsMix(float(rate.estimate), float(rate.low), float(rate.high))
