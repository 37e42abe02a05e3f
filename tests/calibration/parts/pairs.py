"""Effects of causes, beside their truth and the ideal fit."""

import polars as pl

from pipeline.demo import ideal_fit
from pipeline.demo.simulate import Firm

Tables = dict[str, pl.DataFrame]
PAIR = ["fault", "deviation"]


def pairs(firm: Firm, tables: Tables) -> pl.DataFrame:
    """Effects of causes beside their truth and the ideal fit, logs of ratios for `per` more."""
    return beside_ideal(beside_truth(tables["effects"], firm), firm)


def beside_ideal(found: pl.DataFrame, firm: Firm) -> pl.DataFrame:
    """Pairs with what a fit says that sees the true deviations."""
    ideal = ideal_fit(firm).rename({"log_ratio": "ideal", "se": "ideal_se", "contrast_se": "ideal_contrast_se"})
    columns = ["ideal", "ideal_se", "ideal_contrast_se"]
    return found.join(ideal.select(*PAIR, *columns, is_strong_in_ideal="is_strong"), on=PAIR, how="left")


def beside_truth(effects: pl.DataFrame, firm: Firm) -> pl.DataFrame:
    """Effects of causes beside their truth, logs of ratios for `per` more."""
    kept = ["step", "events", "evidence", "p_value"]
    return (
        effects.filter(pl.col("role") == "cause")
        .select(*PAIR, *kept, estimate=pl.col("hazard_ratio").log(), low=pl.col("hr_low").log(),
                high=pl.col("hr_high").log())
        .join(firm.truth.select(*PAIR, "is_cause", "is_planted", total_effect="log_ratio"), on=PAIR, how="full",
              coalesce=True)
    )  # fmt: skip
