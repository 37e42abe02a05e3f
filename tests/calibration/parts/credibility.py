"""What is said of each crew's records, beside its habit."""

import polars as pl

from pipeline.demo.simulate import Firm

Tables = dict[str, pl.DataFrame]


def credibility(firm: Firm, tables: Tables) -> pl.DataFrame:
    """What each test says of each crew, beside its habit (none: null)."""
    habits = pl.DataFrame(
        [(habit.crew, habit.kind) for habit in firm.habits],
        schema={"crew": pl.String, "habit": pl.String},
        orient="row",
    )
    found = tables["record_credibility"].select("crew", "test", "statistic", "q_value", "doors", "verdict")
    return found.join(habits, on="crew", how="left")
