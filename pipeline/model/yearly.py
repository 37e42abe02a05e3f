"""How many callbacks of each fault a year brings now, and what one costs."""

from datetime import date, timedelta
from typing import cast

import polars as pl

from pipeline.model.risk import DAYS_PER_YEAR, answered_episodes


def first_day(door_time: pl.DataFrame) -> date:
    """The first day on which a callback could have been logged: that of the first door at risk."""
    return cast(date, door_time["from_on"].min())


def last_year(as_of: date, first_day: date) -> tuple[date, float]:
    """The last day before the last year of the log, or before all of it where it is shorter, and its length in years.

    first_day  first day on which a callback could have been logged
    """
    since = max(first_day - timedelta(days=1), as_of - timedelta(days=365))
    return since, max((as_of - since).days, 1) / DAYS_PER_YEAR


def counted_lately(episodes: pl.DataFrame, since: date) -> pl.DataFrame:
    """One row per fault: `counted`, the episodes after that day that crews answer for."""
    answered = answered_episodes(episodes)
    return answered.filter(pl.col("reported_on") > since).group_by("fault").agg(pl.len().alias("counted"))


def yearly_faults(episodes: pl.DataFrame, staged_callbacks: pl.DataFrame, as_of: date, first_day: date) -> pl.DataFrame:
    """One row per fault: counted, episodes_per_year, cost_each (mean over its callbacks with a known cost, else null).

    Counts the episodes that crews answer for in the last year of the log, or in all of it where it is shorter.
    first_day  first day on which a callback could have been logged
    """
    since, years = last_year(as_of, first_day)
    counts = counted_lately(episodes, since).with_columns((pl.col("counted") / years).alias("episodes_per_year"))
    costs = (
        episodes.select("callback_id", "fault")
        .join(staged_callbacks.select("callback_id", "cost"), on="callback_id")
        .group_by("fault")
        .agg(pl.col("cost").mean().alias("cost_each"))
    )
    return counts.join(costs, on="fault", how="full", coalesce=True).with_columns(
        pl.col("counted", "episodes_per_year").fill_null(0)
    )
