"""What is said to account for each callback, beside what does."""

import polars as pl

from pipeline.demo.simulate import Firm
from pipeline.demo.true_shares import UNEXPLAINED, true_shares

Tables = dict[str, pl.DataFrame]


def causes(firm: Firm, tables: Tables) -> pl.DataFrame:
    """One row per callback: mean absolute error of its shares, its true first cause with its share, and the one told.

    The mean is over the causes that are true or told, `unexplained` included; `misplaced` is the part of the callback
    that is credited wrongly, however many causes are told; `held` how many of the shares told have the true one in
    their interval.
    """
    told = tables["callback_causes"].select("callback_id", "deviation", "share", "low", "high")
    both = true_shares(firm).join(told, on=["callback_id", "deviation"], how="full", coalesce=True)
    known = set(told["callback_id"])
    both = both.filter(pl.col("callback_id").is_in(known)).with_columns(pl.col("share", "true_share").fill_null(0.0))
    is_cause = pl.col("deviation") != UNEXPLAINED
    both = both.with_columns(
        # as shares are told: to half a percent; empty where none was told
        is_held=(pl.col("low") - 0.005 <= pl.col("true_share")) & (pl.col("true_share") <= pl.col("high") + 0.005)
    )

    def first(share: str) -> pl.Expr:
        ordered = pl.col("deviation").filter(is_cause & (pl.col(share) > 0))
        return ordered.sort_by(pl.col(share).filter(is_cause & (pl.col(share) > 0)), descending=True).first()

    return both.sort("callback_id", "deviation").group_by("callback_id", maintain_order=True).agg(
        error=(pl.col("share") - pl.col("true_share")).abs().mean(),
        held=pl.col("is_held").mean(),
        misplaced=(pl.col("share") - pl.col("true_share")).abs().sum() / 2,
        true_first=first("true_share"),
        first=first("share"),
        first_share=pl.col("true_share").filter(is_cause).max(),
    )  # fmt: skip
