"""late_paper: callbacks reported by calendar month, as on paper and corrected for the paper that has not arrived.

grain: one row per month from the first door watched, ten years back at most, to the records' last day
key: month
columns:
  month           text     YYYY-MM
  reported        integer  callbacks on paper that were reported in the month, whoever answers for them
  arrived_share   double   share of the month's paper that has arrived; 1 where the day of logging is not recorded
  corrected       double   callbacks reported in the month: reported / arrived_share; empty below a share of 0.1
  corrected_low   double   lower end of its 95 % interval: never below what is on paper
  corrected_high  double   upper end
  is_over         boolean  the month has ended
  is_complete     boolean  it has ended, and 95 % of its last day's paper has arrived
  complete_to     date     last day of which 95 % of the paper has arrived, the same in all rows
  is_corrected    boolean  enough callbacks say when they were written down; false: no correction is made

Source: Lawless (1994), Can. J. Stat. 22, 15-31. What has not arrived is negative binomial given what has.
"""

import numpy as np
import polars as pl
from scipy import stats

from pipeline.model.days import day_of
from pipeline.model.standing import Standing, standing_on

LEAST_SHARE = 0.1
COMPLETE_SHARE = 0.95
SCHEMA = {
    "month": pl.String, "reported": pl.Int64, "arrived_share": pl.Float64, "corrected": pl.Float64,
    "corrected_low": pl.Float64, "corrected_high": pl.Float64, "is_over": pl.Boolean, "is_complete": pl.Boolean,
    "complete_to": pl.Date, "is_corrected": pl.Boolean,
}  # fmt: skip


def build(callback_days: pl.DataFrame, door_spans: pl.DataFrame, settings: pl.DataFrame) -> pl.DataFrame:
    """One row per month."""
    standing = standing_on(settings["as_of"][0], callback_days, (door_spans, door_spans.clear()), settings)
    return pl.DataFrame(_columns(standing) if standing else None, schema=SCHEMA)


def _columns(standing: Standing) -> dict[str, object]:
    grid, n = standing.grid, standing.grid.n_past
    complete_to = grid.on - standing.delays.days_until(COMPLETE_SHARE)
    last_days = grid.starts[1 : n + 1] - 1
    corrected, low, high = _corrected(standing.reported, standing.arrived)
    return {
        "month": grid.names()[:n],
        "reported": standing.reported.astype(np.int64),
        "arrived_share": standing.arrived,
        "corrected": corrected,
        "corrected_low": low,
        "corrected_high": high,
        "is_over": last_days <= grid.on,
        "is_complete": last_days <= complete_to,
        "complete_to": [day_of(complete_to)] * n,
        "is_corrected": [standing.delays.is_known] * n,
    }


def _corrected(reported: np.ndarray, arrived: np.ndarray) -> tuple[pl.Series, ...]:
    """Estimate, low and high; what is missing is negative binomial with half a callback added for none seen."""
    share = np.clip(arrived, LEAST_SHARE, 1.0)
    missing = [np.where(share < 1, stats.nbinom.ppf(q, reported + 0.5, share), 0.0) for q in (0.025, 0.975)]
    columns = (reported / share, reported + missing[0], reported + missing[1])
    return tuple(pl.Series(np.where(arrived >= LEAST_SHARE, column, np.nan)).fill_nan(None) for column in columns)
