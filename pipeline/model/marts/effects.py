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
  doors                    integer  doors at risk with the deviation recorded, values far beyond all others left out
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

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.bases import fitted_bases
from pipeline.model.evidence import SUGGESTIVE_P, grade
from pipeline.model.pair_rows import SCHEMA as FIT_SCHEMA
from pipeline.model.pair_rows import pair_rows
from pipeline.model.risk import first_faults, watched_doors
from pipeline.model.study import Study, study_of
from pipeline.model.without_doubtful import doubted_doors, held_to, without_readings
from pipeline.model.yearly import first_day, yearly_faults
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.intervals import Z95
from pipeline.stats.multiplicity import q_values

PAIR = ["fault", "deviation"]
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
    effect_fits: pl.DataFrame,
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    staged_callbacks: pl.DataFrame,
    record_credibility: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
) -> pl.DataFrame:
    """One row per fault and deviation, graded."""
    if effect_fits.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched_doors(door_time), staged_installs, door_values, door_limits, catalogue, settings)
    doubted = doubted_doors(study, staged_installs, record_credibility)
    fits = effect_fits.with_columns(doubted_doors=pl.lit(int(doubted.sum())))
    graded = _graded(
        fits.join(_ratios_without(fits, study, doubted, episodes), on=PAIR, how="left", maintain_order="left")
    )
    yearly = yearly_faults(episodes, staged_callbacks, settings["as_of"][0], first_day(door_time))
    return _priced(graded, yearly).select(list(SCHEMA))


def _ratios_without(
    fits: pl.DataFrame, study: Study, doubted: NDArray[np.bool_], episodes: pl.DataFrame
) -> pl.DataFrame:
    """What was found, fitted again on the study without doubtful records: the ratio by pair, where there is one."""
    found = set(fits.filter(pl.col("p_value") <= SUGGESTIVE_P).select(PAIR).iter_rows()) if doubted.any() else set()
    faults = {name: first_faults(study.watched, episodes, name) for name in sorted({fault for fault, _ in found})}
    rows = []
    if found:
        study = without_readings(study, doubted)
        with one_blas_thread():
            rows = pair_rows(study, faults, fitted_bases(study, faults), found)
    again = pl.DataFrame(rows, schema=FIT_SCHEMA)
    return again.select(*PAIR, ratio_without_doubtful="contrast_ratio")


def _graded(frame: pl.DataFrame) -> pl.DataFrame:
    """q-values in two families of comparisons, causes only, and the evidence that follows."""
    q = np.full(frame.height, np.nan)
    tested = (frame["role"] == "cause") & frame["p_value"].is_not_null()
    for expected in (True, False):
        rows = (tested & (frame["is_expected"] == expected)).to_numpy()
        q[rows] = q_values(frame["p_value"].to_numpy()[rows])
    evidence, notes = [], []
    for row, q_value in zip(frame.iter_rows(named=True), q, strict=True):
        word, note = "too_few", row["note"]
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
