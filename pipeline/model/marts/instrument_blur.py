"""instrument_blur: how much of a found cause's ratio the instruments' own scatter has hidden.

grain: one row per cause with evidence strong or suggestive in effects
key: fault, deviation
columns:
  fault          text     part of the key
  deviation      text     part of the key
  reliability    double   1 - variance of the reading error that differs between doors / variance of the deviation given
                          crew and adjusters; empty: no uncertainty known
  ratio          double   contrast_ratio of effects without the blur, for the same contrast; empty: not corrected
  ratio_low      double   lower end of its 95 % interval
  ratio_high     double   upper end
  doors          integer  doors with the deviation recorded
  doors_known    integer  of these, doors whose reading error is known; of many doors some 20,000 are looked at
  doors_repeated integer  of these, doors whose error rests on readings taken twice, not on the step written alone
  verdict        text     corrected / corrected for rounding only / the instrument cannot tell / no uncertainty known
  note           text     what to bear in mind; empty where there is nothing to add

Without readings of one place taken twice only the rounding is known: reliability is then the most it can be. An error
common to all readings of an instrument shifts all doors alike and hides nothing: it is left out.
Source: Carroll, Ruppert, Stefanski and Crainiceanu (2006), Measurement Error in Nonlinear Models, chapter 4.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import polars as pl

from pipeline.model.evidence import DesignRoom, found_causes
from pipeline.model.pair_design import adjuster_columns, pair_design
from pipeline.model.risk import watched_doors
from pipeline.model.study import Study, study_of
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.blur import calibrated, reliability
from pipeline.stats.intervals import log_error, ratio_interval

LEAST_RELIABLE = 0.7
LEAST_FREEDOM = 10  # of repeats, as reading_errors asks for
LEAST_KNOWN = 0.5  # share of the doors whose reading error must be known to speak for all
MOST_DOORS = 20_000  # whose errors are looked at: a mean of squares needs no more
NO_ERROR_KNOWN, CANNOT_TELL, CORRECTED = "no uncertainty known", "the instrument cannot tell", "corrected"
ROUNDING_ONLY = "corrected for rounding only"
FOLDED = "close where the deviation adds up readings; rough where it is a largest one or a distance without sign"
UNREPEATED = "read some doors twice on one day: what readings scatter is not known, the effect may be larger than this"
SCHEMA = {
    "fault": pl.String, "deviation": pl.String, "reliability": pl.Float64, "ratio": pl.Float64,
    "ratio_low": pl.Float64, "ratio_high": pl.Float64, "doors": pl.Int64, "doors_known": pl.Int64,
    "doors_repeated": pl.Int64, "verdict": pl.String, "note": pl.String,
}  # fmt: skip


def build(
    effects: pl.DataFrame,
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    reading_errors: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
    evaluate: Callable[..., pl.DataFrame],
) -> pl.DataFrame:
    """One row per cause that was found."""
    found = found_causes(effects)
    if found.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched_doors(door_time), staged_installs, door_values, door_limits, catalogue, settings)
    errors = _errors(evaluate, len(study.watched.install_ids), reading_errors)
    with one_blas_thread():
        shares = _shares(study, errors, sorted(found["deviation"].unique()))
    rows = [_row(row, *shares[row["deviation"]]) for row in found.iter_rows(named=True)]
    return pl.DataFrame(rows, schema=SCHEMA).sort("fault", "deviation")


def _errors(evaluate: Callable[..., pl.DataFrame], n_doors: int, reading_errors: pl.DataFrame) -> pl.DataFrame:
    """install_id, deviation, uncertainty that differs between doors, is_repeated; of all doors or of one in several."""
    replaced = {}
    every = n_doors // MOST_DOORS
    if every > 1:
        for fits in ("reading_fits", "repeated_fits"):
            replaced[fits] = f"SELECT * FROM {fits} WHERE hash(install_id) % {every} = 0"

    def deviations(u_random: str) -> pl.DataFrame:
        only = f"SELECT * REPLACE ({u_random} AS u_random, 0.0 AS u_common, 0.0 AS u_tilt) FROM reading_errors"
        found = evaluate("deviations", reading_errors=only, **replaced)
        return found.select("install_id", "deviation", "uncertainty")

    errors, is_enough = deviations("u_random"), pl.col("freedom") >= LEAST_FREEDOM
    if reading_errors.filter(is_enough).is_empty():
        return errors.with_columns(is_repeated=pl.lit(False))
    # what is left where readings with repeats have no error rests on others
    rest = deviations(f"CASE WHEN freedom >= {LEAST_FREEDOM} THEN 0.0 ELSE u_random END")
    rest = rest.select("install_id", "deviation", is_repeated=pl.col("uncertainty") == 0)
    return errors.join(rest, on=["install_id", "deviation"], how="left")


def _shares(study: Study, errors: pl.DataFrame, names: list[str]) -> dict[str, tuple[float | None, int, int]]:
    """Reliability, where known, the doors whose error is known, and of these by repeats, by deviation."""
    adjusters, time = adjuster_columns(study.firm), study.watched.leave - study.watched.entry
    ids = study.watched.install_ids
    shares: dict[str, tuple[float | None, int, int]] = {}
    for name in names:
        design = pair_design(study.firm, study.firm.places[name], adjusters)
        if design is None:
            shares[name] = (None, 0, 0)
            continue
        doors = ids.gather(design.rows).implode()
        of_name = errors.filter(pl.col("deviation") == name, pl.col("install_id").is_in(doors))
        known = of_name.drop_nulls("uncertainty")
        u, repeated = known["uncertainty"].to_numpy(), int(known["is_repeated"].sum())
        if design.place.is_check or len(u) < max(LEAST_KNOWN * of_name.height, 1):
            shares[name] = (None, len(u), repeated)
            continue
        left = DesignRoom(design, time[design.rows]).residual_variance(len(design.rows)) * design.spread**2
        shares[name] = (reliability(float(np.mean(u**2)), left), len(u), repeated)
    return shares


def _row(effect: dict[str, Any], share: float | None, known: int, repeated: int) -> dict[str, Any]:
    row: dict[str, Any] = dict.fromkeys(SCHEMA) | {name: effect[name] for name in ("fault", "deviation", "doors")}
    row |= {"reliability": share, "doors_known": known, "doors_repeated": repeated, "note": ""}
    if share is None:
        return row | {"verdict": NO_ERROR_KNOWN}
    if share < LEAST_RELIABLE:
        return row | {"verdict": CANNOT_TELL, "note": "the direction stands; how strong it is cannot be told"}
    slope = np.log(effect["contrast_ratio"])
    error = float(log_error(effect["contrast_low"], effect["contrast_high"]))
    middle, width = calibrated(slope, error, share, effect["doors"])
    ratios = dict(zip(("ratio", "ratio_low", "ratio_high"), ratio_interval(middle, width), strict=True))
    if repeated < LEAST_KNOWN * known:
        return row | ratios | {"verdict": ROUNDING_ONLY, "note": UNREPEATED}
    return row | ratios | {"verdict": CORRECTED, "note": FOLDED}
