"""Crews: share of doors out and fair ratios, beside the truth."""

import polars as pl

from pipeline.demo.simulate import Firm
from pipeline.demo.true_outs import true_out_shares
from pipeline.demo.true_ratios import true_crew_ratios

DRAWS = 30  # of the doors in other hands: with fewer the truth of the parts is less sure than they are
Tables = dict[str, pl.DataFrame]


def steps(firm: Firm, tables: Tables) -> pl.DataFrame:
    """Share of doors out per crew and step, beside the truth."""
    return firm.carelessness.join(true_out_shares(firm), on=["crew", "step"]).join(
        tables["weak_steps"].select("crew", "step", "out_share"), on=["crew", "step"], how="left"
    )


def crews(firm: Firm, tables: Tables) -> pl.DataFrame:
    """Fair ratios of crews and their parts beside the truth."""
    parts = [f"{part}_{end}" for part in ("fair", "steps", "rest") for end in ("ratio", "low", "high")]
    truth = true_crew_ratios(firm, draws=DRAWS).rename({"steps_ratio": "true_steps", "rest_ratio": "true_rest"})
    return tables["callback_rates"].select("crew", "doors", "callbacks", *parts).join(truth, on="crew")
