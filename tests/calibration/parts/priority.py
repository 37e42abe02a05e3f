"""What a crew would spare in a step if it worked as the firm's better half does, beside the truth."""

import polars as pl

from pipeline.demo.simulate import Firm
from pipeline.demo.true_priorities import true_priorities

Tables = dict[str, pl.DataFrame]


def priority(firm: Firm, tables: Tables) -> pl.DataFrame:
    """One row per crew and step with a priority. true_priority: 0 where the crew is better than the better half."""
    columns = ("crew", "step", "priority", "priority_low", "priority_high")
    told = tables["weak_steps"].select(columns).drop_nulls("priority")
    return told.join(true_priorities(firm).with_columns(pl.col("true_priority").clip(0.0)), on=["crew", "step"])
