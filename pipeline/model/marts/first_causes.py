"""first_causes: how much of the callbacks each cause accounts for, in how many it stands first, and what none explains.

grain: one row per deviation that accounts for a part of any callback, and one row `unexplained`
key: deviation
columns:
  deviation    text     key; `unexplained` is what no cause accounts for
  step         text     step of the work; empty for `unexplained`
  faults       text     faults of the callbacks that it accounts for, the most first, joined by "; "
  callbacks    integer  callbacks looked at, the same in all rows
  first        integer  callbacks in which it accounts for more than any other cause, and for a fifth or more; for
                        `unexplained` those in which no cause does
  first_share  double   first / callbacks
  first_low    double   lower end of its 95 % interval, over callbacks drawn anew and the errors of the effects
  first_high   double   upper end
  share        double   part of all callbacks that it accounts for, 0 to 1; the rows sum to 1
  share_low    double   lower end of its 95 % interval, from the same draws
  share_high   double   upper end
  shown        double   of share, the part for faults of which the cause, or one that it brings about, has evidence; the
                        rest stands on what the trade expects, weighed by what such causes have shown at this firm
  cost         double   known cost of that part, in the firm's currency; empty where no cost is known
  cost_known   integer  callbacks looked at whose cost is known, the same in all rows
"""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.evidence import SHOWN
from pipeline.model.marts.callback_causes import UNEXPLAINED
from pipeline.stats.intervals import Floats

A_FIFTH = 0.2  # less is no first cause of a callback: a judgement, no source
N_DRAWS = 400
MOST_CALLBACKS = 20_000  # drawn from; the intervals of more are as wide as theirs

SCHEMA = {
    "deviation": pl.String, "step": pl.String, "faults": pl.String, "callbacks": pl.Int64, "first": pl.Int64,
    "first_share": pl.Float64, "first_low": pl.Float64, "first_high": pl.Float64, "share": pl.Float64,
    "share_low": pl.Float64, "share_high": pl.Float64, "shown": pl.Float64, "cost": pl.Float64, "cost_known": pl.Int64,
}  # fmt: skip


@dataclass(frozen=True)
class Shares:
    """shares, errors (n, K): of each callback by deviation, 0 where it accounts for nothing; unexplained last."""

    deviations: list[str]
    shares: Floats
    errors: Floats


def build(callback_causes: pl.DataFrame, staged_callbacks: pl.DataFrame, settings: pl.DataFrame) -> pl.DataFrame:
    """One row per cause, the largest part first, and what none explains."""
    if callback_causes.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    found = _shares(callback_causes)
    first = _first(found.shares)
    n = len(first)
    low, high = _intervals(found, np.random.default_rng([int(settings["seed"][0] or 0), 45]))
    counts = np.bincount(first, minlength=len(found.deviations))
    told = pl.DataFrame(
        {
            "deviation": found.deviations, "callbacks": [n] * len(counts), "first": counts, "first_share": counts / n,
            "first_low": low[0], "first_high": high[0], "share": found.shares.mean(axis=0), "share_low": low[1],
            "share_high": high[1],
        }
    )  # fmt: skip
    shown = callback_causes.group_by("deviation").agg(
        shown=pl.col("share").filter(pl.col("evidence").is_in(SHOWN) | pl.col("through").is_not_null()).sum() / n
    )
    rows = (
        told.join(_faults(callback_causes), on="deviation")
        .join(shown, on="deviation")
        .join(_cost(callback_causes, staged_callbacks), on="deviation")
    )
    return rows.select(pl.col(name).cast(kind) for name, kind in SCHEMA.items()).sort(
        pl.col("deviation") == UNEXPLAINED, -pl.col("share"), "deviation"
    )


def _shares(causes: pl.DataFrame) -> Shares:
    names = sorted(set(causes["deviation"]) - {UNEXPLAINED})
    columns = pl.DataFrame({"deviation": [*names, UNEXPLAINED]}).with_row_index("column")
    rows = causes.with_columns(row=pl.col("callback_id").rank("dense") - 1).join(columns, on="deviation")
    at = (rows["row"].to_numpy(), rows["column"].to_numpy())
    shares, errors = np.zeros((2, int(at[0].max()) + 1, columns.height))
    shares[at] = rows["share"].to_numpy()
    errors[at] = rows["effect_error"].to_numpy()
    return Shares([*names, UNEXPLAINED], shares, errors)


def _first(shares: Floats) -> NDArray[np.int64]:
    """(n,) number of the cause that stands first, the last where none accounts for a fifth."""
    if shares.shape[1] == 1:
        return np.zeros(len(shares), dtype=np.int64)
    causes = shares[:, :-1]
    return np.where(causes.max(axis=1) >= A_FIFTH, causes.argmax(axis=1), shares.shape[1] - 1)


def _intervals(found: Shares, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """(2, K) ends of the intervals of both shares.

    The error of a cause's effect is the same in all callbacks: it moves their shares together.
    """
    n, k = found.shares.shape
    drawn = np.empty((N_DRAWS, 2, k))
    for draw in drawn:
        rows = rng.integers(0, n, min(n, MOST_CALLBACKS))
        moved = np.clip(found.shares[rows] + rng.standard_normal(k) * found.errors[rows], 0.0, 1.0)
        moved /= np.maximum(moved.sum(axis=1, keepdims=True), 1e-12)
        draw[0] = np.bincount(_first(moved), minlength=k) / len(rows)
        draw[1] = moved.mean(axis=0)
    low, high = np.quantile(drawn, [0.025, 0.975], axis=0)
    return low, high


def _faults(causes: pl.DataFrame) -> pl.DataFrame:
    """The step and the faults of each deviation, those with the largest parts first."""
    by_fault = (
        causes.with_columns(pl.col("faults").str.split("; "))
        .explode("faults")
        .group_by("deviation", "step", "faults")
        .agg(pl.col("share").sum())
        .sort("deviation", -pl.col("share"), "faults")
    )
    return by_fault.group_by("deviation", maintain_order=True).agg(
        pl.col("step").first(), pl.col("faults").str.join("; ")
    )


def _cost(causes: pl.DataFrame, staged_callbacks: pl.DataFrame) -> pl.DataFrame:
    """The known cost that goes with each deviation."""
    known = staged_callbacks.select("callback_id", paid="cost").drop_nulls()
    rows = causes.join(known, on="callback_id", how="left")
    n_known = rows.filter(pl.col("paid").is_not_null())["callback_id"].n_unique()
    cost = rows.group_by("deviation").agg(cost=(pl.col("share") * pl.col("paid")).sum())
    return cost.with_columns(cost=pl.when(n_known > 0).then("cost"), cost_known=pl.lit(n_known, dtype=pl.Int64))
