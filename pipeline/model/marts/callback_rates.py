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
  fair_low          double   lower end of its 95 % interval; case-mix error, over-dispersion and what is not known of
                             how much crews differ included
  fair_high         double   upper end
  steps_ratio       double   part of the ratio that goes through the steps measured: callbacks that the crew's doors
                             were to bring for how they were fitted, against the firm's (row `all` of through_steps)
  steps_low         double   lower end of its 95 % interval
  steps_high        double   upper end
  rest_ratio        double   what is left of the ratio once the steps measured are allowed for, pulled towards 1 as
                             fair_ratio is: what was not measured, and chance
  rest_low          double   lower end of its 95 % interval, errors of the steps' part included
  rest_high         double   upper end
  place_low         integer  lowest place of the crew among crews_compared that the draws leave open (95 %); 1 is the
                             crew called back least on the same doors
  place_high        integer  highest place
  crews_compared    integer  crews with time at risk
  direct_rate       double   callbacks per 100 door-years that the crew would have on the firm's mix of doors; empty
                             where it never met that mix
  direct_low        double   lower end of its 95 % interval
  direct_high       double   upper end
  direct_note       text     why direct_rate is empty; empty where it is not
  funnel            text     inside / above / below the 99.8 % funnel, or empty where there is nothing to compare
  cost              double   known cost of the callbacks in callbacks_all, in the firm's currency
  cost_known        integer  callbacks in callbacks_all whose cost is known

Sources: Garwood (1936), Biometrika 28, 437-442; Spiegelhalter (2005), Stat. Med. 24, 1185-1202; Goldstein and
Spiegelhalter (1996), J. R. Stat. Soc. A 159, 385-443 (places); Fay and Feuer (1997), Stat. Med. 16, 791-801 (rate on
the firm's mix); the fair ratio in stats/ratio_draws.py, what goes through the steps in model/steps_of_crews.py, the
rule of overlap in model/firms_mix.py.
"""

from typing import Any

import numpy as np
import polars as pl

from pipeline.model.callback_case import CallbackCase, callback_case, expected_of, opening_callbacks
from pipeline.model.case_mix import ExpectedCounts
from pipeline.model.firms_mix import on_firms_mix
from pipeline.model.risk import watched_doors
from pipeline.stats.funnel import funnel_scores
from pipeline.stats.intervals import Z95, Floats, Interval, poisson_interval, rate_interval
from pipeline.stats.ratio_draws import GroupCounts, place_interval, ratio_draws

FUNNEL_Z = 3.090  # 99.8 % of crews that do not differ stay inside
PER_DOOR_YEARS = 100

SCHEMA = {
    "crew": pl.String, "doors": pl.Int64, "door_years": pl.Float64, "callbacks": pl.Int64, "callbacks_all": pl.Int64,
    "rate": pl.Float64, "rate_low": pl.Float64, "rate_high": pl.Float64, "expected": pl.Float64, "ratio": pl.Float64,
    "ratio_low": pl.Float64, "ratio_high": pl.Float64, "fair_ratio": pl.Float64, "fair_low": pl.Float64,
    "fair_high": pl.Float64, "steps_ratio": pl.Float64, "steps_low": pl.Float64, "steps_high": pl.Float64,
    "rest_ratio": pl.Float64, "rest_low": pl.Float64, "rest_high": pl.Float64, "place_low": pl.Int64,
    "place_high": pl.Int64, "crews_compared": pl.Int64, "direct_rate": pl.Float64, "direct_low": pl.Float64,
    "direct_high": pl.Float64, "direct_note": pl.String, "funnel": pl.String, "cost": pl.Float64,
    "cost_known": pl.Int64,
}  # fmt: skip


def build(
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    episodes: pl.DataFrame,
    staged_callbacks: pl.DataFrame,
    through_steps: pl.DataFrame,
    settings: pl.DataFrame,
) -> pl.DataFrame:
    """One row per crew and one for all."""
    opening = opening_callbacks(episodes, staged_callbacks)
    crews = _counted(door_time, opening, ["crew"])
    firm = _counted(door_time.with_columns(crew=pl.lit("all")), opening.with_columns(crew=pl.lit("all")), ["crew"])
    steps = through_steps.filter(pl.col("step") == "all")
    found = _comparison((staged_installs, door_time, opening), steps, settings)
    compared = crews.join(found, on="crew", how="left")
    whole = firm.with_columns(
        pl.col("callbacks").cast(pl.Float64).alias("expected"),
        pl.when(pl.col("callbacks") > 0).then(1.0).alias("ratio"),
        pl.when(pl.col("callbacks") > 0).then(pl.lit("inside")).otherwise(pl.lit("empty")).alias("funnel"),
    )
    rows = pl.concat([pl.DataFrame(schema=SCHEMA), compared.sort("crew"), whole], how="diagonal")
    return _with_rates(rows).with_columns(pl.col("funnel").fill_null("empty")).select(list(SCHEMA))


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


def _comparison(
    doors: tuple[pl.DataFrame, pl.DataFrame, pl.DataFrame], steps: pl.DataFrame, settings: pl.DataFrame
) -> pl.DataFrame:
    """Expected counts, ratios, fair ratios, places and the funnel, one row per crew with time at risk."""
    installs, door_time, opening = doors
    watched = watched_doors(door_time)
    answered = opening.filter(pl.col("is_answered_for"))
    compared = callback_case(watched, installs, answered) if len(watched.install_ids) else None
    found = expected_of(compared) if compared else None
    if compared is None or found is None:
        return pl.DataFrame(schema={"crew": pl.String, **{name: SCHEMA[name] for name in _COMPARED}})
    names = watched.crews.unique(maintain_order=True)
    if len(names) == 1:  # a crew is not compared with itself
        return pl.DataFrame({"crew": names, "expected": found.expected, "ratio": [1.0], "funnel": ["empty"]})
    y = np.bincount(watched.groups, compared.counts).astype(float)
    rng = np.random.default_rng([int(settings["seed"][0] or 0), len(names)])
    firm_rate = PER_DOOR_YEARS * y.sum() / float((watched.leave - watched.entry).sum())
    columns = {
        "crew": names, "expected": found.expected, "funnel": _funnel(y, found),
        **_ratios(y, found), **_fair(y, found, rng), **_apart(y, found, _of_crews(names, steps), rng),
        **_on_firms_mix(compared, found, firm_rate),
    }  # fmt: skip
    return pl.DataFrame(columns)


_COMPARED = (
    "expected", "ratio", "ratio_low", "ratio_high", "fair_ratio", "fair_low", "fair_high", "steps_ratio", "steps_low",
    "steps_high", "rest_ratio", "rest_low", "rest_high", "place_low", "place_high", "crews_compared", "direct_rate",
    "direct_low", "direct_high", "direct_note", "funnel",
)  # fmt: skip


def _ratios(y: Floats, found: ExpectedCounts) -> dict[str, Floats]:
    """Dividing count and expectation by the over-dispersion keeps the ratio, widens its interval."""
    counts, expected = y / found.over_dispersion, found.expected / found.over_dispersion
    exact = poisson_interval(counts)
    raw = _widened(Interval(y / found.expected, exact.low / expected, exact.high / expected), found.log_error)
    return {"ratio": raw.estimate, "ratio_low": raw.low, "ratio_high": raw.high}


def _fair(y: Floats, found: ExpectedCounts, rng: np.random.Generator) -> dict[str, Any]:
    draws = ratio_draws(GroupCounts(y, found.expected, found.log_covariance, found.over_dispersion), rng)
    low, high = np.quantile(draws, [0.025, 0.975], axis=0)
    first, last = place_interval(draws)
    return {
        "fair_ratio": draws.mean(axis=0), "fair_low": low, "fair_high": high,
        "place_low": first, "place_high": last, "crews_compared": [len(y)] * len(y),
    }  # fmt: skip


def _of_crews(names: pl.Series, steps: pl.DataFrame) -> pl.DataFrame:
    """The steps' part of each of these crews, in their order; no row where nothing is known of it."""
    rows = pl.DataFrame({"crew": names}).join(steps, on="crew", how="left", maintain_order="left")
    return rows.clear() if rows["ratio"].null_count() else rows


def _apart(y: Floats, found: ExpectedCounts, steps: pl.DataFrame, rng: np.random.Generator) -> dict[str, Any]:
    """What goes through the steps measured, and what is left of each crew's ratio with that allowed for."""
    if steps.is_empty():
        return {name: pl.Series([None] * len(y), dtype=pl.Float64) for name in _APART}
    through = steps["ratio"].to_numpy()
    expected = found.expected * through * y.sum() / float(found.expected @ through)
    covariance = found.log_covariance + np.diag(steps["log_error"].to_numpy() ** 2)
    draws = ratio_draws(GroupCounts(y, expected, covariance, found.over_dispersion), rng)
    low, high = np.quantile(draws, [0.025, 0.975], axis=0)
    parts = (through, steps["low"], steps["high"], draws.mean(axis=0), low, high)
    return dict(zip(_APART, parts, strict=True))


_APART = ("steps_ratio", "steps_low", "steps_high", "rest_ratio", "rest_low", "rest_high")


def _on_firms_mix(compared: CallbackCase, found: ExpectedCounts, firm_rate: float) -> dict[str, Any]:
    mixes = on_firms_mix(found, compared.covariates, compared.counts, compared.groups)
    own = Interval(*(np.array([getattr(mix, part) for mix in mixes]) for part in ("ratio", "low", "high")))
    rate = _widened(own, found.log_error)
    low = np.where(np.isnan(own.estimate), np.nan, rate.low)  # what is refused has no lower end either
    columns = {"direct_rate": rate.estimate, "direct_low": low, "direct_high": rate.high}
    notes = [mix.why_not for mix in mixes]
    return {
        **{name: pl.Series(firm_rate * part).fill_nan(None) for name, part in columns.items()},
        "direct_note": notes,
    }


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
