"""The twelve months ahead, beside what comes."""

import polars as pl

from pipeline.demo.next_year import next_year
from pipeline.demo.simulate import Firm

Tables = dict[str, pl.DataFrame]


def outlook(firm: Firm, tables: Tables) -> pl.DataFrame:
    """Callbacks of each month ahead and in all (`total`), beside those that come from the doors that are out."""
    last = pl.lit(firm.scenario.ends_on)
    came = next_year(firm).with_columns(month=(last + pl.duration(days=pl.col("day"))).dt.strftime("%Y-%m"))
    counts = pl.concat([came, came.with_columns(month=pl.lit("total"))]).group_by("month").len("came")
    columns = ("month", "callbacks", "callbacks_low", "callbacks_high", "basis")
    beside = tables["outlook"].select(columns).join(counts, on="month", how="left")
    return beside.with_columns(pl.col("came").fill_null(0))
