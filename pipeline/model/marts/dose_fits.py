"""dose_fits: the curve of risk over each measured deviation, as fitted; dose_response and limit_advice read it off.

grain: one row per pair of a fault and a measured cause or variant that shows evidence, or is answered and expected
key: fault, deviation
left out: checks (passed or failed is no curve), deviations on fewer than three grid values
columns:
  fault             text      part of the key
  deviation         text      part of the key
  knots             integer   knots of the natural cubic spline; 2: a straight line
  reference         double    the grid value with ratio 1: the one nearest to the better end of the contrast
  grid              double[]  round values within the 2.5th and 97.5th percentile that have doors, ascending, V of them
  doors             double[]  doors within half a step of each
  log_ratios        double[]  log hazard ratio at each, relative to the reference
  errors            double[]  its standard error, by the variance of the headline ratio
  contrasts         double[]  V x p, row by row: columns of the curve less those at the reference
  coefficients      double[]  p
  covariance        double[]  p x p, the model's own
  crew_covariance   double[]  p x p, from leaving out one crew at a time; empty with one crew
  doors_with_ends   double[]  all doors by their nearest grid value, those beyond the ends at the ends
  callbacks         double[]  first callbacks expected of these doors over `years`
  years             double    age that callbacks run to: the end of the warranty, at most what one door in ten
                              has been watched to

Source of the method: DEVELOPERS.md, "What the numbers mean".
"""

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import polars as pl

from pipeline.model.bases import Bases, read_bases
from pipeline.model.dose_curve import BentDesign, DoseCurve, Grid, bent_design, dose_curve, grid_of, knots_for
from pipeline.model.evidence import SHOWN
from pipeline.model.pair_design import PairDesign, adjuster_columns, pair_design
from pipeline.model.risk import FirstFaults, first_faults, watched_doors
from pipeline.model.study import Study, study_of
from pipeline.stats.blas import one_blas_thread

Doubles = pl.List(pl.Float64)
SCHEMA: dict[str, Any] = {
    "fault": pl.String, "deviation": pl.String, "knots": pl.Int64, "reference": pl.Float64, "grid": Doubles,
    "doors": Doubles, "log_ratios": Doubles, "errors": Doubles, "contrasts": Doubles, "coefficients": Doubles,
    "covariance": Doubles, "crew_covariance": Doubles, "doors_with_ends": Doubles, "callbacks": Doubles,
    "years": pl.Float64,
}  # fmt: skip
MONTHS_A_YEAR = 12
WATCHED_BY_ONE_IN_TEN = 0.9


def build(
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    effects: pl.DataFrame,
    fault_bases: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
) -> pl.DataFrame:
    """One row per pair that shows evidence or that the trade expects."""
    answered = effects.filter(pl.col("evidence").is_in(SHOWN) | _is_expected())
    watched = watched_doors(door_time)
    if answered.is_empty() or watched.install_ids.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched, staged_installs, door_values, door_limits, catalogue, settings)
    faults = {name: first_faults(watched, episodes, name) for name in sorted(answered["fault"].unique())}
    years = _years(study, settings["warranty_months"][0])
    with one_blas_thread():
        rows = _rows(study, read_bases(fault_bases, faults), answered, years)
    return pl.DataFrame(rows, schema=SCHEMA, infer_schema_length=None)


def _is_expected() -> pl.Expr:
    """Answered, and a pair that the trade expects: a curve that shows nothing is worth seeing there."""
    return pl.col("is_expected") & (pl.col("evidence") != "too_few")


def _years(study: Study, warranty_months: float | None) -> float:
    watched = float(np.quantile(study.watched.leave, WATCHED_BY_ONE_IN_TEN))
    return min(warranty_months / MONTHS_A_YEAR, watched) if warranty_months else watched


def _rows(study: Study, bases: Bases, answered: pl.DataFrame, years: float) -> list[dict[str, Any]]:
    adjusters = adjuster_columns(study.firm)
    measured = [place for place in study.firm.places.values() if not place.is_check]
    asked = {name: set(part["fault"]) for (name,), part in answered.group_by("deviation")}

    def of_place(number: int) -> list[dict[str, Any]]:
        place = measured[number]
        wanted = sorted(asked.get(place.name, set()))
        design = pair_design(study.firm, place, adjusters) if wanted else None
        grid = grid_of(design) if design else None
        if design is None or grid is None:
            return []
        return list(_of_place(design, grid, {name: bases[name] for name in wanted}, years))

    # numpy lets go of the interpreter while it computes, so that threads share the work
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return [row for rows in pool.map(of_place, range(len(measured))) for row in rows]


def _of_place(design: PairDesign, grid: Grid, bases: Bases, years: float) -> Iterator[dict[str, Any]]:
    bent: dict[int, BentDesign] = {}
    for name, base in bases.items():
        if base is None:
            continue
        n_knots = knots_for(base.faults.events[design.rows].sum())
        if n_knots not in bent:
            bent[n_knots] = bent_design(design, n_knots)
        found = dose_curve(bent[n_knots], base, grid)
        yield {"fault": name, "deviation": design.place.name, "years": years, **_row(found, grid, base.faults, years)}


def _row(found: DoseCurve, grid: Grid, faults: FirstFaults, years: float) -> dict[str, Any]:
    curve, crews = found.curve, found.curve.group_covariance
    # the hazard gathered up to that age, interval by interval
    lengths = np.diff(np.minimum(faults.cuts, years))
    expected = -np.expm1(-float(found.baseline @ lengths) * found.ratios)
    return {
        "knots": found.n_knots,
        "reference": float(grid.values[grid.reference]),
        "grid": grid.values.tolist(),
        "doors": grid.doors.tolist(),
        "log_ratios": curve.log_ratios.tolist(),
        "errors": curve.errors.tolist(),
        "contrasts": curve.contrasts.ravel().tolist(),
        "coefficients": curve.coefficients.tolist(),
        "covariance": curve.covariance.ravel().tolist(),
        "crew_covariance": [] if crews is None else crews.ravel().tolist(),
        "doors_with_ends": np.bincount(grid.bins, minlength=len(grid.values)).astype(float).tolist(),
        "callbacks": np.bincount(grid.bins, expected, len(grid.values)).tolist(),
    }
