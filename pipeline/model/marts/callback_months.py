"""callback_months: the trend, callbacks per 100 door-years by calendar month.

grain: one row per month
key: month
columns:
  month           text     YYYY-MM
  callbacks       integer  callbacks that open an episode which a crew answers for
  callbacks_all   integer  callbacks reported, whatever they were
  door_years      double   years at risk within the month
  rate            double   callbacks per 100 door-years; empty where no door was at risk
  rate_low        double   95 %, exact
  rate_high       double   95 %, exact
  cost            double   money, all callbacks of the month; empty where none has a cost
  arrived_share   double   share of the paper of its last day that has arrived by now; empty where not known
  is_complete     boolean  the month has ended and at least 95 % of its paper can have arrived, as far as known
"""

import polars as pl

from pipeline.stats.intervals import rate_interval

COMPLETE_SHARE = 0.95


def build(month_counts: pl.DataFrame) -> pl.DataFrame:
    """Adds the rate with its interval; shape (months, 10)."""
    hundreds = month_counts["door_years"].to_numpy() / 100
    interval = rate_interval(month_counts["callbacks"].to_numpy(), hundreds)
    rates = {"rate": interval.estimate, "rate_low": interval.low, "rate_high": interval.high}
    return month_counts.with_columns(
        *(pl.Series(name, values).fill_nan(None) for name, values in rates.items()),
        (pl.col("arrived_share").fill_null(1.0) >= COMPLETE_SHARE).alias("is_complete"),
    )
