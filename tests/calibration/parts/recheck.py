"""Risks of doors that are new, beside the true ones."""

import numpy as np
import polars as pl

from pipeline.demo.next_year import chance_next_year
from pipeline.demo.simulate import Firm
from pipeline.demo.world import FAULTS

Tables = dict[str, pl.DataFrame]


def recheck(firm: Firm, tables: Tables) -> pl.DataFrame:
    """One row: doors, slope of the true risks on those told, their sums, and how far apart doors are told and are.

    spread, true_spread: standard deviation of log risks within faults, on average; where nothing matters the slope says
    little, and the risks told should hardly differ.
    The slope is that of a Poisson regression with an intercept for each fault: 1 where twice the risk told is twice the
    risk, below 1 where differences between doors are overstated.
    """
    numbers = firm.doors.installs.select("install_id").with_row_index("door")
    told = tables["recheck"].select("install_id", "fault", "risk").filter(pl.col("fault").is_in(list(FAULTS)))
    rows = told.join(numbers, on="install_id").sort("fault", "door")
    by_fault = [
        part.with_columns(true=pl.Series(chance_next_year(firm, str(fault))[part["door"].to_numpy()]))
        for (fault,), part in rows.group_by("fault", maintain_order=True)
    ]
    found = pl.concat(by_fault) if by_fault else rows.with_columns(true=pl.lit(0.0))
    spreads = found.filter(pl.col("risk") > 0, pl.col("true") > 0).group_by("fault", maintain_order=True).agg(
        pl.col("risk").log().std(), pl.col("true").log().std()
    )  # fmt: skip
    sums = found.select(
        pl.col("install_id").n_unique().alias("doors"), told=pl.col("risk").sum(), true=pl.col("true").sum(),
        spread=pl.lit(spreads["risk"].mean(), dtype=pl.Float64),
        true_spread=pl.lit(spreads["true"].mean(), dtype=pl.Float64),
    )  # fmt: skip
    return sums.with_columns(slope=pl.lit(slope(found), dtype=pl.Float64))


def slope(rows: pl.DataFrame) -> float | None:
    """The slope of `true` on log `risk` within faults; None where the risks told do not differ."""
    parts = rows.filter(pl.col("risk") > 0).partition_by("fault")
    strata = [(np.log(part["risk"].to_numpy()), part["true"].to_numpy()) for part in parts]
    if not any(len(x) > 1 and np.ptp(x) > 1e-6 for x, _ in strata):
        return None
    low, high = -2.0, 5.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if _pull(strata, middle) > 0 else (low, middle)
    return low


def _pull(strata: list[tuple[np.ndarray, np.ndarray]], slope: float) -> float:
    """The score of the slope with each stratum's intercept at its best; it falls as the slope grows."""
    total = 0.0
    for x, y in strata:
        weight = np.exp(slope * (x - x.mean()))
        total += float(y @ x - y.sum() * (weight @ x) / weight.sum())
    return total
