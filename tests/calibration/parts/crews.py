"""Crews: share of doors out and fair ratios, beside the truth."""

import polars as pl

from pipeline.demo.simulate import Firm
from pipeline.demo.true_outs import true_out_shares
from pipeline.demo.true_ratios import true_crew_ratios

Tables = dict[str, pl.DataFrame]


def steps(firm: Firm, tables: Tables) -> pl.DataFrame:
    """Share of doors out per crew and step, beside the truth."""
    return firm.carelessness.join(true_out_shares(firm), on=["crew", "step"]).join(
        tables["weak_steps"].select("crew", "step", "out_share"), on=["crew", "step"], how="left"
    )


def crews(firm: Firm, tables: Tables) -> pl.DataFrame:
    """Fair ratios of crews beside the truth."""
    found = tables["callback_rates"].select("crew", "doors", "callbacks", "fair_ratio", "fair_low", "fair_high")
    return found.join(true_crew_ratios(firm), on="crew")
