"""effect_fits: each fault fitted against each deviation; `effects` grades these rows together.

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
  p_value                  double   two-sided, of no effect; empty: too few
  is_expected              boolean  the trade expects this pair: one family of comparisons, all others another
  doors                    integer  doors at risk with the deviation recorded
  events                   integer  first callbacks of the fault among them
  recorded_share           double   doors with the deviation recorded / all doors at risk
  attributable_share       double   share of the fault's callbacks spared if every door met the limit
  attributable_low         double   lower end of its 95 % interval
  attributable_high        double   upper end
  doors_needed             integer  doors with the deviation recorded, as many of them called back as now, that would
                                    give an answer; empty where there is one, or where more doors would not
  note                     text     why too few, or what to look at; empty where there is nothing to add

Source of the method: DEVELOPERS.md, "What the numbers mean".
"""

import polars as pl

from pipeline.model.bases import read_bases
from pipeline.model.pair_rows import SCHEMA, pair_rows
from pipeline.model.risk import first_faults, watched_doors
from pipeline.model.study import study_of
from pipeline.stats.blas import one_blas_thread


def build(
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    coded_callbacks: pl.DataFrame,
    fault_bases: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
    part: tuple[int, int],
) -> pl.DataFrame:
    """One row per fault and deviation, not graded; of some of the deviations where a part is asked for."""
    watched = watched_doors(door_time)
    if watched.install_ids.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched, staged_installs, door_values, door_limits, catalogue, settings)
    faults = {name: first_faults(study.watched, episodes, name) for name in sorted(coded_callbacks["fault"].unique())}
    with one_blas_thread():
        rows = pair_rows(study, faults, read_bases(fault_bases, faults), part=part)
    return pl.DataFrame(rows, schema=SCHEMA)
