"""What of the callbacks reported has been written down by a given day."""

from datetime import date

import numpy as np
import polars as pl

from pipeline.stats.right_truncation import NO_DELAYS, Delays, delays_of

LEAST_DELAYS = 20  # below this no correction is made, unless they are half of all


def delays_known(callback_days: pl.DataFrame, on: date) -> Delays:
    """The delays of the callbacks written down by that day; none where too few say when they were written down."""
    rows = callback_days.filter((pl.col("logged_on") >= pl.col("reported_on")) & (pl.col("logged_on") <= on))
    if rows.height < min(LEAST_DELAYS, callback_days.height / 2):
        return NO_DELAYS
    delays = (rows["logged_on"] - rows["reported_on"]).dt.total_days()
    limits = rows.select((pl.lit(on) - pl.col("reported_on")).dt.total_days()).to_series()
    return delays_of(delays.to_numpy(), limits.to_numpy(), least=min(LEAST_DELAYS, rows.height / 2))


def on_paper(callback_days: pl.DataFrame, on: date) -> pl.DataFrame:
    """The callbacks that the records of an earlier day held.

    Where the day of logging is not known, the usual delay stands in for it, so that the earlier day does not know more
    than it could.
    """
    known = callback_days.filter(pl.col("logged_on") >= pl.col("reported_on"))
    delays = (known["logged_on"] - known["reported_on"]).dt.total_days().to_numpy()
    usual = int(np.median(delays)) if len(delays) else 0
    logged = pl.coalesce("logged_on", pl.col("reported_on") + pl.duration(days=usual))
    return callback_days.filter((pl.col("reported_on") <= on) & (logged <= on))
