"""repeated_fits: the fits of the members on which a place may have been read more than once, every place taken once.

Made by the very file that makes reading_fits, over settled_readings in place of the readings.
grain: one row per install_id, measure and member that reading_fits marks as questioned
key: install_id, measure, member
columns:
  install_id     text      part of the key
  measure        text      part of the key
  member         text      part of the key; '' where none is named
  instrument     text      as in reading_fits
  n              integer   readings behind the fit
  undated        integer   of these, undated
  low            double    as in reading_fits
  high           double    as in reading_fits
  mean           double    as in reading_fits
  lean           double    as in reading_fits
  lean_factor    double    as in reading_fits
  span           double    as in reading_fits
  bow            double    as in reading_fits
  bow_factor     double    as in reading_fits
  chord_bow      double    as in reading_fits
  chord_factor   double    as in reading_fits
  value_at_low   double    as in reading_fits
  value_at_high  double    as in reading_fits
  gap            double    as in reading_fits
  difference     double    as in reading_fits
  is_sided       boolean   as in reading_fits
  places         double[]  as in reading_fits
  step           double    as in reading_fits
  is_questioned  boolean   as in reading_fits; says nothing here
"""

from collections.abc import Callable

import polars as pl

_TEXTS = ("install_id", "measure", "member", "instrument")
_COUNTS = ("n", "undated")
_NUMBERS = (
    "low", "high", "mean", "lean", "lean_factor", "span", "bow", "bow_factor", "chord_bow", "chord_factor",
    "value_at_low", "value_at_high", "gap", "difference",
)  # fmt: skip
FIT_COLUMNS: dict[str, pl.DataType] = {
    **dict.fromkeys(_TEXTS, pl.String()),
    **dict.fromkeys(_COUNTS, pl.Int64()),
    **dict.fromkeys(_NUMBERS, pl.Float64()),
    "is_sided": pl.Boolean(),
    "places": pl.List(pl.Float64()),
    "step": pl.Float64(),
    "is_questioned": pl.Boolean(),
}


def build(repeat_errors: pl.DataFrame, evaluate: Callable[..., pl.DataFrame]) -> pl.DataFrame:
    """The fits over settled_readings; none where no member is questioned (then repeat_errors has no row).

    repeat_errors  made from settled_readings; read instead of them because those can be as long as the readings
    """
    if repeat_errors.is_empty():
        return pl.DataFrame(schema=FIT_COLUMNS)
    return evaluate("reading_fits", counted_readings="SELECT * FROM settled_readings")
