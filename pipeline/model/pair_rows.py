"""Rows of fault and deviation pairs: each fitted, with its ratios and the share of callbacks that it accounts for.

Takes a study, its faults and where their fits begin; gives one row a pair, not graded yet.
"""

import math
import os
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import polars as pl
from scipy import special

from pipeline.model.adjusters import Place
from pipeline.model.bases import Bases
from pipeline.model.evidence import DesignRoom, times_needed, too_few
from pipeline.model.pair_design import PairDesign, adjuster_columns, pair_design
from pipeline.model.pair_fit import FaultBase, PairEstimate, fit_pair
from pipeline.model.risk import FirstFaults
from pipeline.model.spared import spared_share
from pipeline.model.study import Study
from pipeline.stats.intervals import Floats, ratio_interval

SCHEMA = {
    "fault": pl.String, "deviation": pl.String, "step": pl.String, "role": pl.String, "family": pl.String,
    "per": pl.Float64, "unit": pl.String, "hazard_ratio": pl.Float64, "hr_low": pl.Float64, "hr_high": pl.Float64,
    "between_ratio": pl.Float64, "contrast_ratio": pl.Float64, "contrast_low": pl.Float64,
    "contrast_high": pl.Float64, "contrast_from": pl.Float64, "contrast_to": pl.Float64, "p_value": pl.Float64,
    "is_expected": pl.Boolean, "doors": pl.Int64, "events": pl.Int64, "recorded_share": pl.Float64,
    "attributable_share": pl.Float64, "attributable_low": pl.Float64, "attributable_high": pl.Float64,
    "doors_needed": pl.Int64, "note": pl.String,
}  # fmt: skip

Pair = tuple[str, str]  # fault and deviation


def pair_rows(
    study: Study,
    faults: dict[str, FirstFaults],
    bases: Bases,
    only: set[Pair] | None = None,
    part: tuple[int, int] = (0, 1),
) -> list[dict[str, Any]]:
    """One row a pair, not graded yet, its columns those of SCHEMA; of the pairs named, or of all.

    part  (k, n): only the k-th of n parts of the deviations, counted from 0, which together are all
    """
    adjusters = adjuster_columns(study.firm)
    recorded = set(np.flatnonzero((~np.isnan(study.firm.values)).sum(axis=0)))
    studied = [p for p in study.firm.places.values() if p.role in ("cause", "variant") and p.ordinal in recorded]
    if only is not None:
        studied = [place for place in studied if place.name in {deviation for _, deviation in only}]
    studied = studied[part[0] :: part[1]]

    def of_place(place: Place) -> list[dict[str, Any]]:
        design = pair_design(study.firm, place, adjusters)
        room = DesignRoom(design, _weights(study, design)) if design else None
        asked = [name for name in faults if only is None or (name, place.name) in only]
        return [_pair(study, place, (design, room), (name, faults[name], bases[name])) for name in asked]

    # numpy lets go of the interpreter while it computes, so that threads share the work
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return [row for rows in pool.map(of_place, studied) for row in rows]


def _weights(study: Study, design: PairDesign) -> Floats:
    return (study.watched.leave - study.watched.entry)[design.rows]


def _pair(
    study: Study,
    place: Place,
    studied: tuple[PairDesign | None, DesignRoom | None],
    fault: tuple[str, FirstFaults, FaultBase | None],
) -> dict[str, Any]:
    (design, room), (name, first, base) = studied, fault
    recorded = study.firm.is_studied(place)
    row: dict[str, Any] = dict.fromkeys(SCHEMA)
    row |= {
        "fault": name, "deviation": place.name, "step": place.step, "role": place.role, "family": place.family,
        "per": place.per, "unit": place.unit, "is_expected": (place.name, name) in study.expected_pairs,
        "doors": int(recorded.sum()), "events": int(first.events[recorded].sum()),
        "recorded_share": float(recorded.mean()),
    }  # fmt: skip
    if design is None or room is None:
        return row | {"note": "the same on every door where it is recorded"}
    reason = too_few(room, row["events"], row["recorded_share"])
    if reason or base is None:
        times = times_needed(room, row["events"], row["recorded_share"])
        needed = None if times is None else math.ceil(times * row["doors"])
        return row | {"note": reason or "too few first callbacks", "doors_needed": needed}
    estimate = fit_pair(design, base)
    found = row | _ratios(design, estimate) | _shares(study, design, estimate)
    return found | {"note": "; ".join(note for note in (found["note"], _left_out(study, place)) if note)}


def _left_out(study: Study, place: Place) -> str:
    """How many doors are left out, in words; nothing if none."""
    n_far = len(study.firm.far[place.ordinal][0]) if place.ordinal in study.firm.far else 0
    doors = "1 door" if n_far == 1 else f"{n_far:,} doors"
    return f"{doors} with values far beyond all others left out: check these readings" if n_far else ""


def _ratios(design: PairDesign, estimate: PairEstimate) -> dict[str, Any]:
    per_unit, error = estimate.log_ratio / design.spread, estimate.error / design.spread
    better, worse = design.place.better_first(*design.contrast)
    names = (("hazard_ratio", "hr_low", "hr_high"), ("contrast_ratio", "contrast_low", "contrast_high"))
    ratio, contrast = (
        dict(zip(ends, ratio_interval(per_unit, error, by), strict=True))
        for ends, by in zip(names, (design.place.per, worse - better), strict=True)
    )
    return (
        ratio
        | contrast
        | {
            "between_ratio": float(np.exp(estimate.between / design.spread * design.place.per)),
            "contrast_from": better,
            "contrast_to": worse,
            "p_value": float(2 * special.ndtr(-abs(estimate.log_ratio) / estimate.error)),
            "note": "one crew only: its own differences are not in the interval" if estimate.has_one_crew else "",
        }
    )


def _shares(study: Study, design: PairDesign, estimate: PairEstimate) -> dict[str, Any]:
    if design.place.role != "cause":
        return {}
    rng = np.random.default_rng([study.seed, design.place.ordinal])
    spared = spared_share(design, estimate, study.limits[design.rows, design.place.ordinal], rng)
    if spared is None:
        return {}
    return {"attributable_share": spared.share, "attributable_low": spared.low, "attributable_high": spared.high}
