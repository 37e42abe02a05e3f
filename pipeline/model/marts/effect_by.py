"""effect_by: whether what was found of a cause holds alike in every crew, material and season.

grain: one row per cause with p_value <= 0.05 in effects, way of parting the doors and part of them
key: fault, deviation, by, level
columns:
  fault        text     part of the key
  deviation    text     part of the key
  by           text     part of the key: crew / material / season (of fitting)
  level        text     part of the key: the material or the season; of crews all, and each crew where they differ
                        and are 60 at most
  ratio        double   times as often in this part, for the contrast of effects; of one crew drawn towards all crews;
                        empty: too few
  ratio_low    double   lower end of its 95 % interval
  ratio_high   double   upper end
  spread       double   of all crews: standard deviation between crews of the log of ratio, 0 where none is seen
  spread_high  double   its upper 95 % limit; empty where there is none
  doors        integer  doors at risk with the deviation recorded
  events       integer  first callbacks among them
  p_differ     double   of the same effect in every crew, or in every level with a ratio; empty: too few
  q_differ     double   Benjamini-Hochberg over all causes, crews, materials and seasons together
  verdict      text     differs (q_differ <= 0.05) / alike (not shown to differ) / too_few

Decided from the doors and the expected callbacks, not from how an answer looks: a level needs five first callbacks and
room enough to see a ratio of four; crews, three of them, two first callbacks each on average, and room to see a spread
of twice.
"""

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import polars as pl

from pipeline.model.bases import Bases, read_bases
from pipeline.model.effect_parts import FoundEffect, Rows, by_crew, by_level, door_levels
from pipeline.model.evidence import found_causes
from pipeline.model.pair_design import PairDesign, adjuster_columns, pair_design
from pipeline.model.pair_fit import fitted
from pipeline.model.risk import first_faults, watched_doors
from pipeline.model.study import study_of
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.multiplicity import q_values

MOST_Q = 0.05
SCHEMA = {
    "fault": pl.String, "deviation": pl.String, "by": pl.String, "level": pl.String, "ratio": pl.Float64,
    "ratio_low": pl.Float64, "ratio_high": pl.Float64, "spread": pl.Float64, "spread_high": pl.Float64,
    "doors": pl.Int64, "events": pl.Int64, "p_differ": pl.Float64, "q_differ": pl.Float64, "verdict": pl.String,
}  # fmt: skip
KEY = ["fault", "deviation", "by", "level"]
Asked = tuple[Rows, Rows]  # the rows of one way of parting, and those that are shown only where the parts differ


def build(
    effects: pl.DataFrame,
    fault_bases: pl.DataFrame,
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
) -> pl.DataFrame:
    """Every found cause by crew, material and season."""
    rows = found_causes(effects).rows(named=True)
    if not rows:
        return pl.DataFrame(schema=SCHEMA)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched_doors(door_time), staged_installs, door_values, door_limits, catalogue, settings)
    names = sorted({row["fault"] for row in rows})
    faults = {name: first_faults(study.watched, episodes, name) for name in names}
    levels = door_levels(study.watched.install_ids, staged_installs)
    crews = study.watched.crews.unique(maintain_order=True).to_numpy()

    bases, adjusters = read_bases(fault_bases, faults), adjuster_columns(study.firm)

    def parted(found: FoundEffect) -> list[Asked]:
        return [by_crew(found, crews), *((by_level(found, by, values), []) for by, values in levels.items())]

    def of_deviation(deviation: str) -> list[Asked]:
        design = pair_design(study.firm, study.firm.places[deviation], adjusters)
        fits = _fits(design, bases, [row for row in rows if row["deviation"] == deviation])
        return [way for found in fits for way in parted(found)]

    # of many doors a design is large: that of one deviation is let go before the next
    with one_blas_thread(), ThreadPoolExecutor(os.cpu_count()) as pool:
        asked = [way for ways in pool.map(of_deviation, sorted({row["deviation"] for row in rows})) for way in ways]
    return _judged(asked).sort(KEY)


def _fits(design: PairDesign | None, bases: Bases, rows: Rows) -> Iterator[FoundEffect]:
    """The rows of one deviation, each fitted as it was found."""
    for row in rows:
        base = bases[row["fault"]]
        if design is not None and base is not None:
            yield FoundEffect(design, *fitted(design, base, by_group=False), row)


def _judged(asked: list[Asked]) -> pl.DataFrame:
    p_values = [_p_of(shown) for shown, _ in asked]
    q_differ = q_values(p_values)
    rows: list[dict[str, Any]] = []
    for (shown, behind), q_value in zip(asked, q_differ, strict=True):
        differs = bool(q_value <= MOST_Q)
        for row in [*shown, *(behind if differs else [])]:
            is_told = row in behind or row["p_differ"] is not None
            verdict = ("differs" if differs else "alike") if is_told else "too_few"
            rows.append(row | {"q_differ": float(q_value) if is_told else None, "verdict": verdict})
            rows[-1]["p_differ"] = _p_of(shown) if is_told else None
    frame = pl.DataFrame(rows, schema_overrides=SCHEMA, infer_schema_length=None)
    empty = [pl.lit(None, SCHEMA[name]).alias(name) for name in SCHEMA if name not in frame.columns]
    finite = pl.when(pl.col("spread_high").is_finite()).then("spread_high").alias("spread_high")
    return frame.with_columns(empty).with_columns(finite).select(list(SCHEMA))


def _p_of(rows: Rows) -> float:
    """The p-value that a way of parting shares; nan where too few."""
    known = [row["p_differ"] for row in rows if row["p_differ"] is not None]
    return known[0] if known else float(np.nan)
