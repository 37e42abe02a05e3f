"""How many callbacks of each fault a year brings now, and what one costs."""

from datetime import date, timedelta

import polars as pl

from pipeline.model.risk import DAYS_PER_YEAR


def yearly_faults(episodes: pl.DataFrame, staged_callbacks: pl.DataFrame, as_of: date, first_day: date) -> pl.DataFrame:
    """One row per fault: episodes_per_year, cost_each (mean over its callbacks with a known cost, else null).

    Counts the episodes that crews answer for in the last year of the log, or in all of it where it is shorter.
    first_day  first day on which a callback could have been logged
    """
    since = max(first_day - timedelta(days=1), as_of - timedelta(days=365))  # the last day that does not count
    years = max((as_of - since).days, 1) / DAYS_PER_YEAR
    answered = episodes.filter((pl.col("kind") == "episode") & pl.col("is_answered_for"))
    counts = (
        answered.filter(pl.col("reported_on") > since)
        .group_by("fault")
        .agg((pl.len() / years).alias("episodes_per_year"))
    )
    costs = (
        episodes.select("callback_id", "fault")
        .join(staged_callbacks.select("callback_id", "cost"), on="callback_id")
        .group_by("fault")
        .agg(pl.col("cost").mean().alias("cost_each"))
    )
    return counts.join(costs, on="fault", how="full", coalesce=True).with_columns(
        pl.col("episodes_per_year").fill_null(0.0)
    )
