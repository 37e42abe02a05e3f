"""paper_delays: how many days after a report its paper is written down, for all paper, not only what has arrived.

grain: one row per delay seen
key: delay_days
left out: callbacks without the day of logging, or logged before they were reported
columns:
  delay_days     integer  days from report to logging
  callbacks      integer  callbacks with that delay
  at_risk        integer  callbacks with no longer delay that could have been seen with this one
  arrived_share  double   share of all paper whose delay is that or shorter

Sources: Kalbfleisch and Lawless (1989), J. Am. Stat. Assoc. 84, 360-372; Lawless (1994), Can. J. Stat. 22, 15-31.
"""

import polars as pl

from pipeline.model.late_paper import delays_known
from pipeline.stats.right_truncation import Delays


def build(callback_days: pl.DataFrame, settings: pl.DataFrame) -> pl.DataFrame:
    """The distribution as a table; no row where no day of logging is known."""
    return table_of(delays_known(callback_days, settings["as_of"][0]))


def table_of(delays: Delays) -> pl.DataFrame:
    """One row per delay."""
    return pl.DataFrame(
        {
            "delay_days": delays.days,
            "callbacks": delays.seen,
            "at_risk": delays.at_risk,
            "arrived_share": delays.arrived,
        }
    )
