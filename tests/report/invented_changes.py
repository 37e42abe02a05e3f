"""The invented firm beside its last run: more doors, a rate that could be the same, one cause more and one less."""

from datetime import date

import polars as pl

NAMES = (
    "kind", "deviation", "fault", "crew", "state", "value", "low", "high", "state_before", "value_before",
    "low_before", "high_before",
)  # fmt: skip


def run_changes() -> pl.DataFrame:
    """The table `run_changes`."""
    rows = [
        ("doors", None, None, "all", None, 1500.0, None, None, None, 1438.0, None, None),
        ("callbacks", None, None, "all", None, 431.0, None, None, None, 400.0, None, None),
        ("rate", None, None, "all", None, 12.1, 10.9, 13.4, None, 11.4, 10.2, 12.7),
        ("cause", "toe_and_heel", "dropped_leaf", "all", "strong", 1.9, 1.3, 2.8, "suggestive", 1.7, 1.0, 2.9),
        ("cause", "sill_bow", "draught", "all", "suggestive", 1.4, 1.0, 1.9, "strong", 1.6, 1.1, 2.3),
        ("crew", None, None, "K4", "above", 1.6, 1.2, 2.1, "inside", 1.3, 0.9, 1.9),
    ]
    before = {"run_before": pl.lit("2026-06-01T080000-0a0b0c"), "as_of_before": pl.lit(date(2026, 5, 31))}
    return pl.DataFrame(rows, schema=NAMES, orient="row", infer_schema_length=None).with_columns(**before)
