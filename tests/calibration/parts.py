"""What is measured of one firm: each part takes the firm and some of its tables and gives one small frame."""

from collections.abc import Callable
from dataclasses import dataclass

import polars as pl

from pipeline.demo import ideal_fit
from pipeline.demo.simulate import Firm
from pipeline.demo.true_outs import true_out_shares
from pipeline.demo.true_ratios import true_crew_ratios

Tables = dict[str, pl.DataFrame]
PAIR = ["fault", "deviation"]


@dataclass(frozen=True)
class Part:
    """One part of the study. tables: those it reads; only: the scenarios it is measured in, none named: all."""

    name: str
    tables: tuple[str, ...]
    measure: Callable[[Firm, Tables], pl.DataFrame]
    only: tuple[str, ...] = ()


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


def steps(firm: Firm, tables: Tables) -> pl.DataFrame:
    """Share of doors out per crew and step, beside the truth."""
    return firm.carelessness.join(true_out_shares(firm), on=["crew", "step"]).join(
        tables["weak_steps"].select("crew", "step", "out_share"), on=["crew", "step"], how="left"
    )


def crews(firm: Firm, tables: Tables) -> pl.DataFrame:
    """Fair ratios of crews beside the truth."""
    found = tables["callback_rates"].select("crew", "doors", "callbacks", "fair_ratio", "fair_low", "fair_high")
    return found.join(true_crew_ratios(firm), on="crew")


def credibility(firm: Firm, tables: Tables) -> pl.DataFrame:
    """What each test says of each crew, beside its habit (none: null)."""
    habits = pl.DataFrame(
        [(habit.crew, habit.kind) for habit in firm.habits],
        schema={"crew": pl.String, "habit": pl.String},
        orient="row",
    )
    found = tables["record_credibility"].select("crew", "test", "statistic", "q_value", "doors", "verdict")
    return found.join(habits, on="crew", how="left")


PARTS = (
    Part("pairs", ("effects",), pairs),
    Part("steps", ("weak_steps",), steps),
    Part("crews", ("callback_rates",), crews),
    Part("credibility", ("record_credibility",), credibility),
)
