"""What training is said to have done, beside what it did."""

import polars as pl

from pipeline.demo.simulate import Firm
from pipeline.demo.true_training import true_training_ratios

Tables = dict[str, pl.DataFrame]


def training(firm: Firm, tables: Tables) -> pl.DataFrame:
    """Ratios of each trained crew and step beside the truth."""
    columns = ("crew", "step", "outcome", "ratio", "ratio_low", "ratio_high", "naive_ratio", "sessions", "note")
    found = tables["training_effects"].select(columns)
    return found.join(true_training_ratios(firm), on=["crew", "step", "outcome"], how="left")
