"""Invented sums for the linked sheet: crews, products, quarters, faults and steps in any number, from a fixed seed."""

from datetime import date
from itertools import product

import numpy as np
import polars as pl

from pipeline.stats.intervals import poisson_interval

STEPS = ("survey", "sill", "frame", "hanging", "glazing", "adjustment", "sealing", "handover")
FAULTS = ("dropped_leaf", "water_ingress", "stiff_running", "lock_misaligned", "draught", "binding")
PERIODS = ("before 2023-Q3", *(f"{2023 + (quarter + 2) // 4}-Q{(quarter + 2) % 4 + 1}" for quarter in range(12)))

Frames = dict[str, pl.DataFrame]


def explored(
    crews: tuple[str, ...] = tuple(f"K{number}" for number in range(1, 11)),
    products: tuple[str, ...] = ("Fold A", "Fold B"),
    faults: tuple[str, ...] = (*FAULTS, "other faults"),
    doors: int = 10,
) -> Frames:
    """The tables of the linked sheet. doors: about how many stand in each crew, product and period."""
    rng = np.random.default_rng(11)
    cells = list(product(crews, products, PERIODS))
    counts = rng.poisson(0.03 * doors, (len(cells), len(faults)))
    keys = pl.DataFrame(cells, schema=["crew", "product", "period"], orient="row")
    time = keys.with_columns(
        door_years=pl.Series(rng.uniform(0.2, 0.8, len(cells)) * doors), callbacks=pl.Series(counts.sum(axis=1))
    )
    called = keys.join(pl.DataFrame({"fault": faults}), how="cross").with_columns(callbacks=pl.Series(counts.ravel()))
    return {
        "explore_time": time,
        "explore_faults": called.filter(pl.col("callbacks") > 0),
        "explore_steps": _steps(keys, doors, rng),
        "explore_periods": periods(),
        "explore_names": _names(crews, products, faults),
        "count_intervals": _intervals(),
    }


def periods() -> pl.DataFrame:
    """Twelve quarters and all before them; the last one still waits for paper."""
    starts = [date(2020, 7, 1), *(date(2023 + (n + 2) // 4, 3 * ((n + 2) % 4) + 1, 1) for n in range(12))]
    return pl.DataFrame(
        {
            "period": PERIODS,
            "starts_on": starts,
            "ends_on": [*starts[1:], date(2026, 7, 1)],
            "is_complete": [True] * 12 + [False],
        }
    )


def _steps(keys: pl.DataFrame, doors: int, rng: np.random.Generator) -> pl.DataFrame:
    crossed = keys.join(pl.DataFrame({"step": STEPS}), how="cross")
    recorded = rng.integers(0, 2 * doors, crossed.height)
    return crossed.with_columns(
        doors=pl.Series(recorded),
        doors_out=pl.Series(rng.binomial(recorded, 0.2)),
        doors_undecided=pl.lit(0),
    ).filter(pl.col("doors") > 0)


def _names(crews: tuple[str, ...], products: tuple[str, ...], faults: tuple[str, ...]) -> pl.DataFrame:
    rows = [
        {"dimension": dimension, "name": name, "label": name, "size": 1.0}
        for dimension, names in (("crew", crews), ("product", products), ("fault", faults[:-1]))
        for name in names
    ]
    rare = [{"dimension": "fault", "name": name, "label": "other faults", "size": 1.0} for name in ("noise", "binding")]
    return pl.DataFrame(rows + rare)


def _intervals() -> pl.DataFrame:
    counts = np.arange(201)
    exact = poisson_interval(counts)
    return pl.DataFrame({"callbacks": counts, "low": exact.low, "high": exact.high})
