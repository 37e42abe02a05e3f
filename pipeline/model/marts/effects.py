"""effects: what each deviation does to each fault, adjusted for the door, the crew and the earlier work.

grain: one row per fault seen and cause or variant recorded
key: fault, deviation
left out: symptoms (how a fault begins) and tests of the record; they are never causes
columns:
  fault                    text     part of the key
  deviation                text     part of the key
  step                     text     step of the work that the deviation belongs to
  role                     text     cause, or variant: another measure of its family's cause
  family                   text     the cause of the family
  per                      double   size of the contrast that hazard_ratio is stated for
  unit                     text     unit of per
  hazard_ratio             double   times as many first callbacks for `per` more, within crews; empty: too few
  hr_low                   double   lower end of its 95 % interval
  hr_high                  double   upper end
  between_ratio            double   the same between crews, as recorded
  contrast_ratio           double   ratio from the better to the worse end of what the doors show
  contrast_low             double   lower end of its 95 % interval
  contrast_high            double   upper end
  contrast_from            double   the better end, in unit
  contrast_to              double   the worse end, in unit
  p_value                  double   two-sided, of no effect
  q_value                  double   Benjamini-Hochberg within its family of comparisons; causes only
  is_expected              boolean  the trade expects this pair: one family of comparisons, all others another
  doors                    integer  doors at risk with the deviation recorded
  events                   integer  first callbacks of the fault among them
  recorded_share           double   doors with the deviation recorded / all doors at risk
  attributable_share       double   share of the fault's callbacks spared if every door met the limit
  attributable_low         double   lower end of its 95 % interval
  attributable_high        double   upper end
  avoidable_per_year       double   callbacks a year that are spared
  avoidable_low            double   lower end of its 95 % interval, the chance of the yearly count included
  avoidable_high           double   upper end
  avoidable_cost_per_year  double   their cost, in the firm's currency
  doubted_doors            integer  doors whose readings are in doubt with their crew's records; of all, not of the pair
  ratio_without_doubtful   double   contrast_ratio without the readings of these doors, of what p_value <= 0.05 found;
                                    empty where none is in doubt or too few are left
  doors_needed             integer  doors with the deviation recorded, as many of them called back as now, that would
                                    give an answer; empty where there is one, or where more doors would not
  evidence                 text     strong / suggestive / none / too_few
  note                     text     why too few, or what to look at; empty where there is nothing to add

Source of the method: design notes in DEVELOPERS.md, "What the numbers mean".
"""

import math
import os
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import polars as pl
from scipy import special

from pipeline.model.adjusters import Place
from pipeline.model.bases import Bases, fitted_bases, read_bases
from pipeline.model.evidence import SUGGESTIVE_P, DesignRoom, grade, times_needed, too_few
from pipeline.model.pair_design import PairDesign, adjuster_columns, pair_design
from pipeline.model.pair_fit import FaultBase, PairEstimate, fit_pair
from pipeline.model.risk import FirstFaults, first_faults, watched_doors
from pipeline.model.spared import spared_share
from pipeline.model.study import Study, study_of
from pipeline.model.without_doubtful import doubted_doors, held_to, without_readings
from pipeline.model.yearly import first_day, yearly_faults
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.intervals import Z95, Floats, ratio_interval
from pipeline.stats.multiplicity import q_values

SCHEMA = {
    "fault": pl.String, "deviation": pl.String, "step": pl.String, "role": pl.String, "family": pl.String,
    "per": pl.Float64, "unit": pl.String, "hazard_ratio": pl.Float64, "hr_low": pl.Float64, "hr_high": pl.Float64,
    "between_ratio": pl.Float64, "contrast_ratio": pl.Float64, "contrast_low": pl.Float64,
    "contrast_high": pl.Float64, "contrast_from": pl.Float64, "contrast_to": pl.Float64, "p_value": pl.Float64,
    "q_value": pl.Float64, "is_expected": pl.Boolean, "doors": pl.Int64, "events": pl.Int64,
    "recorded_share": pl.Float64, "attributable_share": pl.Float64, "attributable_low": pl.Float64,
    "attributable_high": pl.Float64, "avoidable_per_year": pl.Float64, "avoidable_low": pl.Float64,
    "avoidable_high": pl.Float64, "avoidable_cost_per_year": pl.Float64, "doubted_doors": pl.Int64,
    "ratio_without_doubtful": pl.Float64, "doors_needed": pl.Int64, "evidence": pl.String, "note": pl.String,
}  # fmt: skip


def build(
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    coded_callbacks: pl.DataFrame,
    staged_callbacks: pl.DataFrame,
    fault_bases: pl.DataFrame,
    record_credibility: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
) -> pl.DataFrame:
    """One row per fault and deviation, graded."""
    watched = watched_doors(door_time)
    if watched.install_ids.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched, staged_installs, door_values, door_limits, catalogue, settings)
    faults = {name: first_faults(study.watched, episodes, name) for name in sorted(coded_callbacks["fault"].unique())}
    doubted = doubted_doors(study, staged_installs, record_credibility)
    with one_blas_thread():
        rows = _rows(study, faults, read_bases(fault_bases, faults))
        if not rows:
            return pl.DataFrame(schema=SCHEMA)
        _add_ratios_without(rows, without_readings(study, doubted), faults, int(doubted.sum()))
    graded = _graded(pl.DataFrame(rows, schema_overrides=SCHEMA, infer_schema_length=None))
    yearly = yearly_faults(episodes, staged_callbacks, settings["as_of"][0], first_day(door_time))
    return _priced(graded, yearly).select(list(SCHEMA))


Pair = tuple[str, str]  # fault and deviation


def _add_ratios_without(
    rows: list[dict[str, Any]], study: Study, faults: dict[str, FirstFaults], n_doubted: int
) -> None:
    """Fits again what was found, on the study without doubtful records, and writes its ratio into the rows."""
    tested = [row for row in rows if n_doubted and row["p_value"] is not None]
    found = {_pair_of(row) for row in tested if row["p_value"] <= SUGGESTIVE_P}
    asked = {name: first for name, first in faults.items() if name in {fault for fault, _ in found}}
    refitted = _rows(study, asked, fitted_bases(study, asked), found) if found else []
    again = {_pair_of(row): row["contrast_ratio"] for row in refitted}
    for row in rows:
        row["doubted_doors"] = n_doubted
        row["ratio_without_doubtful"] = again.get(_pair_of(row))


def _pair_of(row: dict[str, Any]) -> Pair:
    return row["fault"], row["deviation"]


def _rows(
    study: Study, faults: dict[str, FirstFaults], bases: Bases, only: set[Pair] | None = None
) -> list[dict[str, Any]]:
    """One row a pair, not graded yet; of the pairs named, or of all."""
    adjusters = adjuster_columns(study.firm)
    recorded = set(np.flatnonzero((~np.isnan(study.firm.values)).sum(axis=0)))
    studied = [p for p in study.firm.places.values() if p.role in ("cause", "variant") and p.ordinal in recorded]
    if only is not None:
        studied = [place for place in studied if place.name in {deviation for _, deviation in only}]

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
    recorded = np.isfinite(study.firm.values[:, place.ordinal])
    row: dict[str, Any] = dict.fromkeys(SCHEMA)
    row |= {
        "fault": name, "deviation": place.name, "step": place.step, "role": place.role, "family": place.family,
        "per": place.per, "unit": place.unit, "is_expected": (place.name, name) in study.expected_pairs,
        "doors": int(recorded.sum()), "events": int(first.events[recorded].sum()),
        "recorded_share": float(recorded.mean()), "evidence": "too_few",
    }  # fmt: skip
    if design is None or room is None:
        return row | {"note": "the same on every door where it is recorded"}
    reason = too_few(room, row["events"], row["recorded_share"])
    if reason or base is None:
        times = times_needed(room, row["events"], row["recorded_share"])
        needed = None if times is None else math.ceil(times * row["doors"])
        return row | {"note": reason or "too few first callbacks", "doors_needed": needed}
    estimate = fit_pair(design, base)
    return row | _ratios(design, estimate) | _shares(study, design, estimate)


def _ratios(design: PairDesign, estimate: PairEstimate) -> dict[str, Any]:
    per_unit, error = estimate.log_ratio / design.spread, estimate.error / design.spread
    low, high = design.contrast
    better, worse = (high, low) if design.place.is_lower_worse else (low, high)
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
            "evidence": "none",
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


def _graded(frame: pl.DataFrame) -> pl.DataFrame:
    """q-values in two families of comparisons, causes only, and the evidence that follows."""
    q = np.full(frame.height, np.nan)
    tested = (frame["role"] == "cause") & frame["p_value"].is_not_null()
    for expected in (True, False):
        rows = (tested & (frame["is_expected"] == expected)).to_numpy()
        q[rows] = q_values(frame["p_value"].to_numpy()[rows])
    evidence, notes = [], []
    for row, q_value in zip(frame.iter_rows(named=True), q, strict=True):
        word, note = row["evidence"], row["note"]
        if row["p_value"] is not None:
            is_worse = row["contrast_ratio"] >= 1
            word, found = grade(row["p_value"], q_value, row["contrast_low"], is_worse)
            if row["doubted_doors"]:
                word, found = held_to(word, found, is_worse, row["ratio_without_doubtful"])
            note = found or note
        evidence.append(word)
        notes.append(note)
    return frame.with_columns(
        pl.Series("q_value", q).fill_nan(None),
        pl.Series("evidence", evidence, dtype=pl.String),
        pl.Series("note", notes, dtype=pl.String),
    )


def _priced(frame: pl.DataFrame, yearly: pl.DataFrame) -> pl.DataFrame:
    per_year, share = pl.col("episodes_per_year"), pl.col("attributable_share")
    # the error of the yearly count joins that of the share: relative, 1 / sqrt(n), independent of it
    chance = Z95 * share * (1 / pl.max_horizontal("counted", pl.lit(1))).sqrt()

    def bound(name: str, side: int) -> pl.Expr:
        own = pl.col(f"attributable_{name}") - share
        return ((share + side * (own**2 + chance**2).sqrt()) * per_year).alias(f"avoidable_{name}")

    return frame.join(yearly, on="fault", how="left", maintain_order="left").with_columns(
        (share * per_year).alias("avoidable_per_year"),
        bound("low", -1),
        bound("high", 1),
        (share * per_year * pl.col("cost_each")).alias("avoidable_cost_per_year"),
    )
