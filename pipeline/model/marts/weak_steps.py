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
  firm_out_low        double   lower end of its 95 % interval (Wilson)
  firm_out_high       double   upper end
  shrunk_share        double   out_share pulled towards the other crews' as far as its n demands
  shrunk_low          double   lower end of its 95 % interval
  shrunk_high         double   upper end
  avoidable_per_year  double   callbacks a year that the crew would spare if its doors met the limits of the causes
  priority            double   callbacks a year that it would spare if it worked as the firm's better half does in the
                               step, 0 where it does; empty where no cause of the step has evidence, or with one crew
  priority_low        double   lower end of its 95 % interval; 0: not shown to be worth it
  priority_high       double   upper end

In steps where any cause has evidence in the table effects, those count that the trade expects, whatever they show,
and others that are strong: of what is chosen by what it shows, the chosen would be overstated. They stand in one
model, so that nothing is counted twice (step_gain.py); steps overlap, and so do crews that share a better half:
priorities are not summed. The better half: the crews at or below the median of shrunk_share. The interval holds the
errors of the effects, the chance in the crews' doors, who belongs to the better half, and the chance of the yearly
count; it is widened by what these left out on simulated firms (step_priority.py).
Sources: Wilson (1927), J. Am. Stat. Assoc. 22, 209-212; Griffiths (1973), Biometrics 29, 637-648;
Chung et al. (2013), Psychometrika 78, 685-709; Greenland and Drescher (1993), Biometrics 49, 865-872.
"""

from datetime import date

import numpy as np
import polars as pl

from pipeline.model.evidence import SHOWN
from pipeline.model.risk import DAYS_PER_YEAR, Watched, answered_episodes, first_faults, watched_doors
from pipeline.model.step_priority import Gain, StepShares, Year, step_gains
from pipeline.model.study import study_of
from pipeline.model.yearly import counted_lately, first_day, last_year
from pipeline.stats.intervals import Floats, share_interval
from pipeline.stats.shrinkage import beta_prior, shrunken_shares

SCHEMA = {
    "crew": pl.String, "step": pl.String, "doors": pl.Int64, "doors_out": pl.Int64, "doors_undecided": pl.Int64,
    "out_share": pl.Float64, "out_low": pl.Float64, "out_high": pl.Float64, "firm_out_share": pl.Float64,
    "firm_out_low": pl.Float64, "firm_out_high": pl.Float64,
    "shrunk_share": pl.Float64, "shrunk_low": pl.Float64, "shrunk_high": pl.Float64,
    "avoidable_per_year": pl.Float64, "priority": pl.Float64, "priority_low": pl.Float64, "priority_high": pl.Float64,
}  # fmt: skip


def build(
    door_steps: pl.DataFrame,
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    effects: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
) -> pl.DataFrame:
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
    rows = pl.concat([pl.DataFrame(schema=SCHEMA), *steps], how="diagonal").drop(GAINS)
    watched = watched_doors(door_time)
    claimed = effects.filter(pl.col("evidence").is_in(SHOWN))
    if watched.install_ids.is_empty() or claimed.is_empty():
        return rows.with_columns(pl.lit(None, pl.Float64).alias(name) for name in GAINS).select(list(SCHEMA))
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched, staged_installs, door_values, door_limits, catalogue, settings)
    known = sorted(set(effects["fault"]) & set(episodes["fault"]))
    faults = {name: first_faults(watched, episodes, name) for name in known}
    year = _year(door_time, episodes, settings["as_of"][0], watched)
    gains = step_gains(study, faults, effects, _shares(rows, watched), year)
    return rows.join(_gains(gains, watched), on=["crew", "step"], how="left", maintain_order="left").select(
        list(SCHEMA)
    )


GAINS = ["avoidable_per_year", "priority", "priority_low", "priority_high"]


def _year(door_time: pl.DataFrame, episodes: pl.DataFrame, as_of: date, watched: Watched) -> Year:
    since, years = last_year(as_of, first_day(door_time))
    days = pl.max_horizontal((pl.col("until_on") - pl.max_horizontal("from_on", pl.lit(since))).dt.total_days(), 0)
    lately = pl.DataFrame({"install_id": watched.install_ids}).join(
        door_time.select("install_id", share=days / (pl.col("door_years") * DAYS_PER_YEAR)),
        on="install_id",
        how="left",
        maintain_order="left",
    )
    counted = dict(counted_lately(episodes, since).iter_rows())
    return Year(counted, years, lately["share"].to_numpy().clip(0.0, 1.0), _of_crews(episodes, watched))


def _of_crews(episodes: pl.DataFrame, watched: Watched) -> dict[str, Floats]:
    """By fault, (G,) episodes of each crew's doors that crews answer for."""
    doors = pl.DataFrame({"install_id": watched.install_ids, "number": watched.groups})
    answered = answered_episodes(episodes).join(doors, on="install_id")
    crews = int(watched.groups.max()) + 1
    return {
        str(fault): np.bincount(rows["number"].to_numpy(), minlength=crews).astype(float)
        for (fault,), rows in answered.group_by("fault")
    }


def _shares(rows: pl.DataFrame, watched: Watched) -> dict[str, StepShares]:
    """By step, over the crews watched in the order of their numbers; a crew without records in a step has no doors."""
    crews = pl.DataFrame({"crew": watched.crews.unique(maintain_order=True)})
    shares = {}
    for step in rows["step"].unique(maintain_order=True):
        own = crews.join(rows.filter(pl.col("step") == step), on="crew", how="left", maintain_order="left")
        out, doors = (own[name].fill_null(0).to_numpy().astype(float) for name in ("doors_out", "doors"))
        shares[step] = StepShares(out, doors, beta_prior(out, doors, avoids_zero=True))
    return shares


def _gains(gains: dict[str, Gain], watched: Watched) -> pl.DataFrame:
    crews = watched.crews.unique(maintain_order=True)
    empty = pl.DataFrame(schema={"crew": pl.String, "step": pl.String, **dict.fromkeys(GAINS, pl.Float64)})
    frames = [
        pl.DataFrame({"crew": crews, "step": [step] * len(crews)}).with_columns(
            pl.Series(name, np.asarray(values, dtype=float)).fill_nan(None)
            for name, values in zip(GAINS, (gain.at_limits, gain.priority, gain.low, gain.high), strict=True)
        )
        for step, gain in gains.items()
    ]
    return pl.concat([empty, *frames])


def _with_shares(step: pl.DataFrame) -> pl.DataFrame:
    out, doors = step["doors_out"].to_numpy(), step["doors"].to_numpy()
    raw, firm = share_interval(out, doors), share_interval(out.sum(), doors.sum())
    shrunk = shrunken_shares(out, doors, beta_prior(out, doors, avoids_zero=True))
    columns = {
        "out_share": raw.estimate, "out_low": raw.low, "out_high": raw.high,
        "shrunk_share": shrunk.estimate, "shrunk_low": shrunk.low, "shrunk_high": shrunk.high,
    }  # fmt: skip
    return step.with_columns(
        *(pl.Series(name, values) for name, values in columns.items()),
        *(
            pl.lit(float(part)).alias(f"firm_out_{name}")
            for name, part in (("share", firm.estimate), ("low", firm.low), ("high", firm.high))
        ),
    )
