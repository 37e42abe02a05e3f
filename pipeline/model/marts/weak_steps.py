"""weak_steps: how often each crew leaves each step of the work out of limits, against the firm.

grain: one row per crew and step in which the crew recorded anything
key: crew, step
left out: doors with nothing recorded in the step
columns:
  crew                text     part of the key
  step                text     part of the key
  doors               integer  the crew's doors with anything recorded in the step
  doors_out           integer  of these, doors with at least one limit out or one check failed
  doors_undecided     integer  of these, doors not out where a measurement cannot decide
  out_share           double   doors_out / doors
  out_low             double   lower end of its 95 % interval (Wilson)
  out_high            double   upper end
  firm_out_share      double   the same share over all crews
  shrunk_share        double   out_share pulled towards the other crews' as far as its n demands
  shrunk_low          double   lower end of its 95 % interval
  shrunk_high         double   upper end
  avoidable_per_year  double   empty until the method for it is in
  priority            double   empty until the method for it is in
  priority_low        double   empty until the method for it is in
  priority_high       double   empty until the method for it is in

Sources: Wilson (1927), J. Am. Stat. Assoc. 22, 209-212; Griffiths (1973), Biometrics 29, 637-648;
Chung et al. (2013), Psychometrika 78, 685-709.
"""

import polars as pl

from pipeline.stats.intervals import share_interval
from pipeline.stats.shrinkage import beta_prior, shrunken_shares

SCHEMA = {
    "crew": pl.String, "step": pl.String, "doors": pl.Int64, "doors_out": pl.Int64, "doors_undecided": pl.Int64,
    "out_share": pl.Float64, "out_low": pl.Float64, "out_high": pl.Float64, "firm_out_share": pl.Float64,
    "shrunk_share": pl.Float64, "shrunk_low": pl.Float64, "shrunk_high": pl.Float64,
    "avoidable_per_year": pl.Float64, "priority": pl.Float64, "priority_low": pl.Float64, "priority_high": pl.Float64,
}  # fmt: skip


def build(door_steps: pl.DataFrame, staged_installs: pl.DataFrame) -> pl.DataFrame:
    """One row per crew and step."""
    counts = (
        door_steps.join(staged_installs.select("install_id", "crew"), on="install_id")
        .group_by("crew", "step")
        .agg(
            pl.len().cast(pl.Int64).alias("doors"),
            pl.col("is_out").sum().cast(pl.Int64).alias("doors_out"),
            pl.col("is_undecided").sum().cast(pl.Int64).alias("doors_undecided"),
        )
        .sort("step", "crew")
    )
    steps = [_with_shares(step) for step in counts.partition_by("step", maintain_order=True)] if counts.height else []
    empty = pl.DataFrame(schema=SCHEMA)
    return pl.concat([empty, *steps], how="diagonal").select(list(SCHEMA))


def _with_shares(step: pl.DataFrame) -> pl.DataFrame:
    out, doors = step["doors_out"].to_numpy(), step["doors"].to_numpy()
    raw = share_interval(out, doors)
    shrunk = shrunken_shares(out, doors, beta_prior(out, doors, avoids_zero=True))
    columns = {
        "out_share": raw.estimate, "out_low": raw.low, "out_high": raw.high,
        "shrunk_share": shrunk.estimate, "shrunk_low": shrunk.low, "shrunk_high": shrunk.high,
    }  # fmt: skip
    return step.with_columns(
        *(pl.Series(name, values) for name, values in columns.items()),
        pl.lit(out.sum() / doors.sum()).alias("firm_out_share"),
    )
