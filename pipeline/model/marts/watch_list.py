"""watch_list: three things for each crew to watch, for its sheet: what its records and the firm's say, else the usual.

grain: one row per crew and place, three of each crew that has doors
key: crew, place
columns:
  crew             text     part of the key
  place            integer  part of the key: 1 to 3 in the order of the work, which is no order of weight
  deviation        text     what to watch: a cause with a limit in use, or a check
  step             text     its step of the work
  why              text     practice, evidence, often out, usual
  fault            text     the fault that it goes with most surely; empty where none is shown
  evidence         text     of that pair: strong or suggestive; empty where none is shown
  doors            integer  the crew's doors with it recorded
  doors_out        integer  of these, doors with a limit out or the check failed
  doors_undecided  integer  of these, doors not out, where the measurement cannot decide

Chosen in this order, one of a family, until there are three:
practice   in steps where practice is shown to spare callbacks (weak_steps.priority_low), what has evidence
evidence   what has evidence anywhere in the firm, strong first
often out  out on a tenth of the crew's doors or more, whatever it leads to
usual      sill level, plumb of the jambs, diagonals of a leaf: common practice, no source
One thing seen (a check) at most: the others are measured. Of the first three only what is recorded on 10 of the
crew's doors or more and was out on any; within each the larger share of doors out first.
"""

from itertools import groupby
from typing import Any

import polars as pl

from pipeline.model.evidence import found_causes

PLACES = 3
MOST_OF_A_STEP = 2
MOST_SEEN = 1
LEAST_DOORS = 10
OFTEN = 0.1
USUAL = ("sill_level_error", "jamb_plumb_error", "leaf_diagonal_difference")
WHYS = ("practice", "evidence", "often out", "usual")
SCHEMA = {
    "crew": pl.String, "place": pl.Int64, "deviation": pl.String, "step": pl.String, "why": pl.String,
    "fault": pl.String, "evidence": pl.String, "doors": pl.Int64, "doors_out": pl.Int64,
    "doors_undecided": pl.Int64,
}  # fmt: skip


def build(
    weak_steps: pl.DataFrame,
    crew_outs: pl.DataFrame,
    effects: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_limits: pl.DataFrame,
) -> pl.DataFrame:
    """Three rows a crew; fewer only where a firm's catalogue leaves fewer to watch."""
    able = _can_be_watched(catalogue_deviations, catalogue_limits)
    worth = weak_steps.filter(pl.col("priority_low") > 0).select("crew", "step", "priority")
    rows = (
        crew_outs.select("crew", "deviation", "doors_out", "doors_undecided", doors="doors_recorded")
        .join(able, on="deviation")
        .join(_surest_pairs(effects), on="deviation", how="left")
        .join(worth, on=["crew", "step"], how="left")
    )
    kept = _first_three(_in_order(rows).to_dicts())
    if not kept:
        return pl.DataFrame(schema=SCHEMA)
    chosen = pl.DataFrame(kept, infer_schema_length=None).sort("crew", "step_order", "ordinal")
    place = pl.int_range(1, pl.len() + 1).over("crew").alias("place")
    return chosen.with_columns(place).select(pl.col(name).cast(kind) for name, kind in SCHEMA.items())


def _can_be_watched(deviations: pl.DataFrame, limits: pl.DataFrame) -> pl.DataFrame:
    """Causes that a limit in use or a check can say to be out. family: itself where it has none of its own."""
    limited = limits.filter(pl.col("status") == "in use")["deviation"].unique().to_list()
    is_told = (pl.col("how") == "checks") | pl.col("name").is_in(limited)
    return deviations.filter((pl.col("role") == "cause") & is_told).select(
        "step",
        "step_order",
        "ordinal",
        is_seen=pl.col("how") == "checks",
        deviation="name",
        family=pl.when(pl.col("family") == "").then("name").otherwise("family"),
    )


def _surest_pairs(effects: pl.DataFrame) -> pl.DataFrame:
    """The fault that each deviation goes with most surely, of those that it makes more frequent."""
    shown = found_causes(effects).filter(pl.col("contrast_low") > 1)
    order = [pl.col("evidence") != "strong", -pl.col("contrast_low"), pl.col("fault")]
    return shown.sort(order).unique("deviation", keep="first").select("deviation", "fault", "evidence")


def _in_order(rows: pl.DataFrame) -> pl.DataFrame:
    """Every candidate of every crew with why it is one, those to be taken first in front."""
    is_out = (pl.col("doors") >= LEAST_DOORS) & (pl.col("doors_out") > 0)
    share = pl.col("doors_out") / pl.col("doors")
    why = (
        pl.when(is_out & pl.col("priority").is_not_null() & pl.col("fault").is_not_null())
        .then(pl.lit(0))
        .when(is_out & pl.col("fault").is_not_null())
        .then(pl.lit(1))
        .when(is_out & (share >= OFTEN))
        .then(pl.lit(2))
        .when(pl.col("deviation").is_in(USUAL))
        .then(pl.lit(3))
    )
    is_less_sure = (pl.col("evidence") != "strong").cast(pl.Float64)
    weight = pl.when(pl.col("turn") == 0).then(-pl.col("priority")).when(pl.col("turn") == 1).then(is_less_sure)
    ordered = rows.with_columns(turn=why).filter(pl.col("turn").is_not_null())
    return ordered.with_columns(weight=weight.fill_null(0.0), share=share.fill_nan(0.0)).sort(
        "crew", "turn", "weight", -pl.col("share"), "ordinal"
    )


def _first_three(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    kept = []
    for _, own in groupby(rows, key=lambda row: row["crew"]):
        taken: list[dict[str, Any]] = []
        for row in own:
            is_told = any(one["family"] == row["family"] for one in taken)
            of_step = sum(one["step"] == row["step"] for one in taken)
            seen = row["is_seen"] and sum(one["is_seen"] for one in taken) >= MOST_SEEN
            if len(taken) < PLACES and not is_told and not seen and of_step < MOST_OF_A_STEP:
                taken.append({**row, "why": WHYS[row["turn"]]})
        kept += taken
    return kept
