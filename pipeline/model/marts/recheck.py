"""recheck: what could come back from doors that are new, within 12 months, and what to look at first.

grain: one row per recent door not yet faulty and fault with 10 first callbacks or more on record
key: install_id, fault
columns:
  install_id          text     part of the key
  crew                text     who fitted it
  fault               text     part of the key
  risk                double   chance of a first callback for it in the 12 months to come, 0 to 1, of doors with such
                               a record
  risk_low            double   lower end of its 95 % interval
  risk_high           double   upper end
  risk_ratio          double   risk / that of the firm's usual door of the same age
  because             text     what raises it and can be put right; or what is not recorded
  do                  text     what to look at again or to measure; empty where nothing is known to help
  deviation           text     what that is of; empty where nothing is known to help
  step                text     its step of the work
  value               double   what is recorded of it, in unit; empty where it is not recorded
  unit                text     unit of value
  events              integer  first callbacks for the fault behind the risk
  doors               integer  doors watched behind it
  minutes             double   usual time to look at it (common practice, no source)
  avoided             double   callbacks in 12 months that putting it right would spare
  avoided_per_minute  double   the same for each minute of looking
  kept                double   part of the predicted differences that is trusted after what later callbacks bore out, 0
                               to 1; it is in risk
  slope               double   how large the differences were later, against what earlier records foretold: 1 is as
                               foretold; empty where too few callbacks came later to judge
  slope_low           double   lower end of its 95 % interval
  slope_high          double   upper end
  slope_events        integer  later callbacks that it is judged by

Reasons are causes with evidence, and symptoms that stand out in the firm's own records. Source of the method: design
notes in DEVELOPERS.md, "What the numbers mean".
"""

from dataclasses import dataclass, replace

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.adjusters import Place
from pipeline.model.entered import Entered, entered_causes
from pipeline.model.risk import DAYS_PER_YEAR, Watched, watched_doors
from pipeline.model.risk_model import Calibration, FaultRisk, fault_risks
from pipeline.model.study import Study, study_of
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.intervals import Z95, Floats

LEAST_SPARED = 0.02  # of the risk: less is no reason to look again
FAR_OUT = 0.9  # a measured symptom counts from this quantile of the firm's doors on

SCHEMA = {
    "install_id": pl.String, "crew": pl.String, "fault": pl.String, "risk": pl.Float64, "risk_low": pl.Float64,
    "risk_high": pl.Float64, "risk_ratio": pl.Float64, "because": pl.String, "do": pl.String, "deviation": pl.String,
    "step": pl.String, "value": pl.Float64, "unit": pl.String, "events": pl.Int64, "doors": pl.Int64,
    "minutes": pl.Float64, "avoided": pl.Float64, "avoided_per_minute": pl.Float64, "kept": pl.Float64,
    "slope": pl.Float64, "slope_low": pl.Float64, "slope_high": pl.Float64, "slope_events": pl.Int64,
}  # fmt: skip


@dataclass(frozen=True)
class Act:
    """One thing to look at again for one fault: spared (m,) part of the risk; value (m,), nan where not recorded."""

    place: Place
    good: float | None
    spared: Floats
    value: Floats


def build(
    staged_installs: pl.DataFrame,
    recheck_doors: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    effects: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
) -> pl.DataFrame:
    """One row per door to be looked at again and fault."""
    if recheck_doors.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    watched = _watched(door_time, staged_installs, recheck_doors)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched, staged_installs, door_values, door_limits, catalogue, settings)
    doors = pl.DataFrame({"install_id": watched.install_ids})
    started = doors.join(staged_installs, on="install_id", how="left", maintain_order="left")["started_on"]
    rows = doors.with_row_index("row").join(recheck_doors, on="install_id").sort("install_id")
    with one_blas_thread():
        risks, calibration = fault_risks(study, episodes, started, rows["row"].to_numpy())
    if not risks or rows.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    entered = entered_causes(effects, study.firm)
    frames = [_of_fault(study, rows, risk, entered.get(risk.fault)) for risk in risks]
    return _worded(pl.concat(frames), catalogue_deviations, calibration).select(list(SCHEMA))


def _watched(door_time: pl.DataFrame, installs: pl.DataFrame, recheck_doors: pl.DataFrame) -> Watched:
    """The doors ever at risk, and those to be foretold that never were: these have no time and tell a fit nothing."""
    needed = ["install_id", "crew", "entry_days", "exit_days", "door_years"]
    known = door_time.filter(pl.col("door_years") > 0).select(needed)
    others = recheck_doors.join(known, on="install_id", how="anti").join(installs, on="install_id")
    nothing = [pl.lit(0.0).alias(name) for name in ("entry_days", "exit_days")]
    # door_years above 0 only so that they are kept; the time at risk is exit less entry
    return watched_doors(pl.concat([known, others.select("install_id", "crew", *nothing, door_years=pl.lit(1.0))]))


def _of_fault(study: Study, rows: pl.DataFrame, risk: FaultRisk, entered: Entered | None) -> pl.DataFrame:
    """The doors of `rows` (row, install_id, age_days) with the act to begin with, see `_best`."""
    at = rows["row"].to_numpy()
    ages = rows["age_days"].to_numpy() / DAYS_PER_YEAR
    values = study.firm.values[at]
    chance, usual = (risk.within(ages, 1.0, score) for score in (risk.score[at], _usual(risk, len(at))))
    low, high = risk.interval(ages, 1.0, risk.score[at])
    read = study.firm.as_read(at)
    acts = [
        replace(act, value=read[:, act.place.ordinal])
        for act in [*_causes(study, values, entered), *_signs(study, values, risk)]
    ]
    minutes = np.array([act.place.minutes for act in acts])
    worth = np.column_stack([act.spared for act in acts]) if acts else np.zeros((len(at), 0))
    worth = np.where(worth >= LEAST_SPARED, worth, 0.0)
    best = _best(acts, worth / minutes) if acts else np.full(len(at), -1)
    told = pl.DataFrame(
        {
            "install_id": rows["install_id"],
            "crew": study.watched.crews.gather(at),
            "fault": pl.Series([risk.fault] * len(at), dtype=pl.String),
            "risk": chance,
            "risk_low": low,
            "risk_high": high,
            "risk_ratio": np.divide(chance, usual, out=np.ones_like(chance), where=usual > 0),
            "is_blank": ~np.isfinite(values).any(axis=1),
        }
    ).with_columns(events=pl.lit(int(risk.events.sum()), pl.Int64), doors=pl.lit(risk.doors, pl.Int64))
    return told.with_columns(_chosen(acts, best, worth))


def _best(acts: list[Act], per_minute: Floats) -> NDArray[np.int64]:
    """(m,) number of each door's act that spares most a minute (m, A), -1 where none does.

    What is known to be out goes before what is merely not recorded, however quickly that is looked at.
    """
    is_known = np.column_stack([np.isfinite(act.value) for act in acts]) & (per_minute > 0)
    candidates = np.where(is_known.any(axis=1, keepdims=True) & ~is_known, 0.0, per_minute)
    return np.where(candidates.max(axis=1) > 0, candidates.argmax(axis=1), -1)


def _usual(risk: FaultRisk, n: int) -> Floats:
    return np.full(n, np.log(np.exp(risk.score).mean()))


def _chosen(acts: list[Act], best: NDArray[np.int64], worth: Floats) -> list[pl.Series]:
    """The chosen act of each door, as columns."""
    is_one = best >= 0
    at = np.arange(len(best))
    pick = np.where(is_one, best, 0)
    value = np.column_stack([act.value for act in acts])[at, pick] if acts else np.full(len(best), np.nan)
    good = [acts[k].good if k >= 0 else None for k in best]
    return [
        pl.Series("deviation", [acts[k].place.name if k >= 0 else None for k in best], dtype=pl.String),
        pl.Series("value", np.where(is_one, value, np.nan)).fill_nan(None),
        pl.Series("good", good, dtype=pl.Float64),
        pl.Series("spared", np.where(is_one, worth[at, pick] if acts else 0.0, 0.0)),
    ]


def _causes(study: Study, values: Floats, entered: Entered | None) -> list[Act]:
    if entered is None:
        return []
    mine, firm = (entered.excess(matrix[:, entered.columns]) for matrix in (values, study.firm.values))
    acts = []
    for k, place in enumerate(entered.places):
        ratios = np.exp(entered.coefficients[k] * firm[:, k])
        # what is not recorded may be as bad as on any other door
        unknown = 1 - 1 / float(np.nanmean(ratios))
        spared = np.where(np.isfinite(mine[:, k]), -np.expm1(-entered.coefficients[k] * mine[:, k]), unknown)
        acts.append(Act(place, float(entered.references[k]), spared, values[:, place.ordinal]))
    return acts


def _signs(study: Study, values: Floats, risk: FaultRisk) -> list[Act]:
    acts = []
    for place in study.firm.places.values():
        if place.ordinal in risk.signs:
            seen, usual = values[:, place.ordinal], study.firm.values[:, place.ordinal]
            bar = 0.0 if place.is_check else float(np.nanquantile(usual, FAR_OUT))
            beyond = np.where(seen > bar, seen - float(np.nanmedian(usual)), 0.0)
            acts.append(Act(place, None, -np.expm1(-risk.signs[place.ordinal] * beyond), seen))
    return acts


def _worded(rows: pl.DataFrame, catalogue: pl.DataFrame, calibration: Calibration) -> pl.DataFrame:
    named = catalogue.select("name", "step", "unit", "words", "do", "minutes", is_check=pl.col("how") == "checks")
    rows = rows.join(named, left_on="deviation", right_on="name", how="left", maintain_order="left")
    words, unit = pl.col("words"), pl.when(pl.col("unit").is_in(["share", "count"])).then(pl.lit("")).otherwise("unit")
    shown = pl.format("{} {}", pl.col("value").round(1), unit).str.strip_chars()
    good = pl.format(", good doors {}", pl.col("good").round(1)).fill_null("")
    blank, unknown = pl.col("is_blank"), pl.col("value").is_null()
    because = (
        pl.when(pl.col("deviation").is_null())
        .then(pl.when(blank).then(pl.lit("nothing recorded")).otherwise(pl.lit("nothing worse than on good doors")))
        .when(blank)
        .then(pl.lit("nothing recorded"))
        .when(unknown)
        .then(pl.format("not recorded: {}", words))
        .when(pl.col("is_check"))
        .then(words)
        .otherwise(pl.format("{}: {}{}", words, shown, good))
    )
    look = pl.when(pl.col("is_check")).then(pl.lit("check")).otherwise(pl.lit("measure"))
    first = pl.when(blank).then(pl.lit(" first")).otherwise(pl.lit(""))
    do = pl.when(unknown & words.is_not_null()).then(
        pl.format("{} “{}”{}: {}", look, words, first, pl.col("do"))
    ).otherwise("do")  # fmt: skip
    slope = calibration.slope
    ends = [slope.slope, *(slope.slope + side * Z95 * slope.error for side in (-1, 1))] if slope else [None] * 3
    return rows.with_columns(
        because=because,
        do=do,
        avoided=pl.col("risk") * pl.col("spared"),
        avoided_per_minute=pl.col("risk") * pl.col("spared") / pl.col("minutes"),
        kept=pl.lit(calibration.kept),
        slope_events=pl.lit(slope.events if slope else None, pl.Int64),
        **{name: pl.lit(end, pl.Float64) for name, end in zip(("slope", "slope_low", "slope_high"), ends, strict=True)},
    ).with_columns(pl.when(pl.col("deviation").is_not_null()).then("avoided").alias("avoided"))
