"""dose_response: how many times as often a fault comes back at each value of a measured deviation.

grain: one row per pair of a fault and a measured cause or variant, and round value where there are doors
key: fault, deviation, value
left out: checks (passed or failed is no curve), pairs too few to tell, pairs that neither show evidence nor are
  expected by the trade (the straight line of effects has them), values beyond the 2.5th and 97.5th percentile of
  the doors, values without a door within half a step of the grid, deviations on fewer than three such values
columns:
  fault         text     part of the key
  deviation     text     part of the key
  value         double   part of the key: as stored, in its unit; distance from the middle if worse = both
  hazard_ratio  double   times as many first callbacks as at the reference, within crews, adjusted as in effects
  hr_low        double   lower end of its pointwise 95 % interval
  hr_high       double   upper end
  doors         integer  doors at risk within half a step of the value
  reference     double   the value with ratio 1: the grid value nearest to contrast_from of effects, the better end
  knots         integer  knots of the natural cubic spline; 2: a straight line, since the doors share few values
  unit          text     unit of value and reference

Source: Harrell (2015), Regression Modeling Strategies, 2nd edition, section 2.4.6 (from memory).
"""

import polars as pl

from pipeline.stats.intervals import Z95


def build(dose_fits: pl.DataFrame, catalogue_deviations: pl.DataFrame) -> pl.DataFrame:
    """One row per pair and grid value."""
    units = catalogue_deviations.select(deviation="name", unit="unit")
    ratio, error = pl.col("log_ratios"), pl.col("errors")
    return (
        dose_fits.select("fault", "deviation", "grid", "log_ratios", "errors", "doors", "reference", "knots")
        .explode("grid", "log_ratios", "errors", "doors")
        .join(units, on="deviation", how="left", maintain_order="left")
        .select(
            "fault",
            "deviation",
            value="grid",
            hazard_ratio=ratio.exp(),
            hr_low=(ratio - Z95 * error).exp(),
            hr_high=(ratio + Z95 * error).exp(),
            doors=pl.col("doors").cast(pl.Int64),
            reference="reference",
            knots="knots",
            unit="unit",
        )
    )
