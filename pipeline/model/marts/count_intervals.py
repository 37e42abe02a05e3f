"""count_intervals: exact 95 % intervals of small counts, for the linked sheet.

grain: one row per count, from 0 to 200, and no further than there are callbacks
key: callbacks
columns:
  callbacks  integer  a count
  low        double   lower end of the exact 95 % interval of its mean; 0 for a count of 0
  high       double   upper end

A page that adds up counts as its reader chooses cannot invert a gamma distribution, so it looks the ends up here. For
larger counts it takes the usual cube-root formula, whose ends are within 0.01 % of the exact ones there.
"""

import numpy as np
import polars as pl

from pipeline.stats.intervals import poisson_interval

MOST = 200


def build(explore_time: pl.DataFrame) -> pl.DataFrame:
    """The counts that a choice on the sheet may come to, with their ends; shape (at most 201, 3)."""
    counts = np.arange(min(int(explore_time["callbacks"].sum()), MOST) + 1)
    exact = poisson_interval(counts)
    return pl.DataFrame({"callbacks": counts, "low": exact.low, "high": exact.high})
