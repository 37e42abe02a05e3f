"""callback_rates: callbacks per 100 door-years of each crew, raw and fair, and of the whole firm.

grain: one row per crew, and one row `all`
key: crew
left out: callbacks before handover, outside the time watched, or that open no episode; callbacks that crews do not
    answer for stand in callbacks_all only
columns:
  crew              text     key; `all` is the firm
  doors             integer  doors fitted
  door_years        double   years at risk
  callbacks         integer  callbacks that crews answer for and that open at least one episode
  callbacks_all     integer  the same, whatever their responsibility or fault
  rate              double   callbacks per 100 door-years; empty without time at risk
  rate_low          double   lower end of its exact 95 % interval
  rate_high         double   upper end
  expected          double   callbacks that an average crew would have had on the same doors
  ratio             double   callbacks / expected
  ratio_low         double   lower end of its 95 % interval, case-mix error and over-dispersion included
  ratio_high        double   upper end
  fair_ratio        double   ratio pulled towards 1 as far as its n demands; empty where there is one crew only
  fair_low          double   lower end of its 95 % interval
  fair_high         double   upper end
  funnel            text     inside / above / below the 99.8 % funnel, or empty where there is nothing to compare
  cost              double   known cost of the callbacks in callbacks_all, in the firm's currency
  cost_known        integer  callbacks in callbacks_all whose cost is known

Sources: Garwood (1936), Biometrika 28, 437-442; Spiegelhalter (2005), Stat. Med. 24, 1185-1202; Efron and Hastie
(2016), Computer Age Statistical Inference, section 6.1; Chung et al. (2013), Psychometrika 78, 685-709.
"""

import numpy as np
import polars as pl

from pipeline.model.case_mix import ExpectedCounts, expected_counts
from pipeline.model.covariates import door_columns
from pipeline.model.risk import DAYS_PER_YEAR, Watched, watched_doors
from pipeline.stats.funnel import funnel_scores
from pipeline.stats.intervals import Floats, Interval, poisson_interval, rate_interval
from pipeline.stats.shrinkage import gamma_prior, shrunken_ratios
from pipeline.stats.time_at_risk import count_events, event_cuts, split_time

FUNNEL_Z = 3.090  # 99.8 % of crews that do not differ stay inside
Z95 = 1.959964
PER_DOOR_YEARS = 100

SCHEMA = {
    "crew": pl.String, "doors": pl.Int64, "door_years": pl.Float64, "callbacks": pl.Int64, "callbacks_all": pl.Int64,
    "rate": pl.Float64, "rate_low": pl.Float64, "rate_high": pl.Float64, "expected": pl.Float64, "ratio": pl.Float64,
    "ratio_low": pl.Float64, "ratio_high": pl.Float64, "fair_ratio": pl.Float64, "fair_low": pl.Float64,
    "fair_high": pl.Float64, "funnel": pl.String, "cost": pl.Float64, "cost_known": pl.Int64,
}  # fmt: skip


def build(
    staged_installs: pl.DataFrame, door_time: pl.DataFrame, episodes: pl.DataFrame, staged_callbacks: pl.DataFrame
) -> pl.DataFrame:
    """One row per crew and one for all."""
    opening = _opening_callbacks(episodes, staged_callbacks)
    crews = _counted(door_time, opening, ["crew"])
    firm = _counted(door_time.with_columns(crew=pl.lit("all")), opening.with_columns(crew=pl.lit("all")), ["crew"])
    compared = crews.join(_comparison(staged_installs, door_time, opening), on="crew", how="left")
    whole = firm.with_columns(
        pl.col("callbacks").cast(pl.Float64).alias("expected"),
        pl.when(pl.col("callbacks") > 0).then(1.0).alias("ratio"),
        pl.when(pl.col("callbacks") > 0).then(pl.lit("inside")).otherwise(pl.lit("empty")).alias("funnel"),
    )
    rows = pl.concat([pl.DataFrame(schema=SCHEMA), compared.sort("crew"), whole], how="diagonal")
    return _with_rates(rows).with_columns(pl.col("funnel").fill_null("empty")).select(list(SCHEMA))


def _opening_callbacks(episodes: pl.DataFrame, staged_callbacks: pl.DataFrame) -> pl.DataFrame:
    """One row per callback that opens an episode: its door, age, and whether the crew answers for it."""
    return (
        episodes.filter(pl.col("kind") == "episode")
        .group_by("callback_id")
        .agg(pl.col("install_id", "crew", "age_days").first(), pl.col("is_answered_for").any())
        .join(staged_callbacks.select("callback_id", "cost"), on="callback_id", how="left")
        .sort("callback_id")
    )


def _counted(door_time: pl.DataFrame, opening: pl.DataFrame, by: list[str]) -> pl.DataFrame:
    doors = door_time.group_by(by).agg(pl.len().cast(pl.Int64).alias("doors"), pl.col("door_years").sum())
    calls = opening.group_by(by).agg(
        pl.col("is_answered_for").sum().cast(pl.Int64).alias("callbacks"),
        pl.len().cast(pl.Int64).alias("callbacks_all"),
        pl.col("cost").sum(),
        pl.col("cost").count().cast(pl.Int64).alias("cost_known"),
    )
    joined = doors.join(calls, on=by, how="left")
    return joined.with_columns(pl.col("callbacks", "callbacks_all", "cost", "cost_known").fill_null(0))


def _comparison(installs: pl.DataFrame, door_time: pl.DataFrame, opening: pl.DataFrame) -> pl.DataFrame:
    """Expected counts, ratios, fair ratios and the funnel, one row per crew with time at risk."""
    watched = watched_doors(door_time)
    answered = opening.filter(pl.col("is_answered_for"))
    found = _expected(watched, installs, answered) if len(watched.install_ids) else None
    if found is None:
        return pl.DataFrame(schema={"crew": pl.String, **{name: SCHEMA[name] for name in _COMPARED}})
    names = watched.crews.unique(maintain_order=True)
    counts = pl.DataFrame({"crew": names}).join(answered.group_by("crew").len("y"), on="crew", how="left")
    y = counts["y"].fill_null(0).to_numpy().astype(float)
    if len(names) == 1:  # a crew is not compared with itself
        return pl.DataFrame({"crew": names, "expected": found.expected, "ratio": [1.0], "funnel": ["empty"]})
    columns = {"crew": names, "expected": found.expected, **_ratios(y, found), "funnel": _funnel(y, found)}
    return pl.DataFrame(columns)


_COMPARED = ("expected", "ratio", "ratio_low", "ratio_high", "fair_ratio", "fair_low", "fair_high", "funnel")


def _expected(watched: Watched, installs: pl.DataFrame, answered: pl.DataFrame) -> ExpectedCounts | None:
    doors = pl.DataFrame({"install_id": watched.install_ids}).with_row_index("row")
    calls = answered.join(doors, on="install_id")
    ages = calls["age_days"].to_numpy().astype(float) / DAYS_PER_YEAR
    cuts = event_cuts(ages)
    covariates = door_columns(doors.join(installs, on="install_id", how="left", maintain_order="left"))
    events = count_events(calls["row"].to_numpy(), ages, len(watched.install_ids), cuts)
    return expected_counts(covariates, split_time(watched.entry, watched.leave, cuts), events, watched.groups)


def _ratios(y: Floats, found: ExpectedCounts) -> dict[str, Floats]:
    """Raw and shrunken ratios. Dividing count and expectation by the over-dispersion keeps the ratio, widens it."""
    counts, expected = y / found.over_dispersion, found.expected / found.over_dispersion
    exact = poisson_interval(counts)
    raw = _widened(Interval(y / found.expected, exact.low / expected, exact.high / expected), found.log_error)
    prior = gamma_prior(counts, expected, avoids_zero=True)
    fair = _widened(shrunken_ratios(counts, expected, prior), found.log_error)
    return {
        "ratio": raw.estimate, "ratio_low": raw.low, "ratio_high": raw.high,
        "fair_ratio": fair.estimate, "fair_low": fair.low, "fair_high": fair.high,
    }  # fmt: skip


def _widened(interval: Interval, log_error: Floats) -> Interval:
    """The interval with a further error on the log scale, independent of its own."""
    estimate = np.maximum(interval.estimate, 1e-9)

    def stretch(bound: Floats) -> Floats:
        own = np.log(np.maximum(bound, 1e-9) / estimate)
        return np.exp(np.sign(own) * np.sqrt(own**2 + (Z95 * log_error) ** 2)) * estimate

    low = np.where(interval.low > 0, stretch(interval.low), 0.0)
    return Interval(interval.estimate, low, np.where(interval.estimate > 0, stretch(interval.high), interval.high))


def _funnel(y: Floats, found: ExpectedCounts) -> list[str]:
    """Scores on the square root of the ratio, whose spread does not depend on the ratio."""
    values = np.sqrt(y / found.expected)
    errors = np.sqrt(found.over_dispersion / (4 * found.expected) + (found.log_error / 2) ** 2)
    scores = funnel_scores(values, errors, target=1.0)
    return ["above" if z > FUNNEL_Z else "below" if z < -FUNNEL_Z else "inside" for z in scores]


def _with_rates(rows: pl.DataFrame) -> pl.DataFrame:
    rate = rate_interval(rows["callbacks"].to_numpy(), rows["door_years"].to_numpy() / PER_DOOR_YEARS)
    named = {"rate": rate.estimate, "rate_low": rate.low, "rate_high": rate.high}
    return rows.with_columns(pl.Series(name, values).fill_nan(None) for name, values in named.items())
