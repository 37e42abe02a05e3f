"""What stands first in the callbacks: counts and sums on paper, intervals over callbacks drawn anew, cost, nothing."""

import numpy as np
import polars as pl
import pytest

from pipeline.model.marts import first_causes
from pipeline.model.marts.callback_causes import SCHEMA as CAUSES

SETTINGS = pl.DataFrame({"seed": [1]})


def causes(*rows, error=0.05):
    """callback_causes of (callback, deviation, share); what is left of a callback is unexplained."""
    table = pl.DataFrame(rows, schema=["callback_id", "deviation", "share"], orient="row")
    left = table.group_by("callback_id").agg(share=1 - pl.col("share").sum(), deviation=pl.lit("unexplained"))
    full = pl.concat([table, left], how="diagonal").with_columns(
        low=(pl.col("share") - 1.96 * error).clip(0, 1), high=(pl.col("share") + 1.96 * error).clip(0, 1),
        effect_error=error,
        faults=pl.when(pl.col("deviation") == "track_clean").then(pl.lit("stiff_running; noise")).otherwise(
            pl.lit("draught")),
        step=pl.when(pl.col("deviation") == "track_clean").then(pl.lit("handover")),
    )  # fmt: skip
    return pl.concat([pl.DataFrame(schema=CAUSES), full], how="diagonal_relaxed")


def built(table, costs=None):
    paid = costs or {}
    callbacks = table.select("callback_id").unique().sort("callback_id")
    callbacks = callbacks.with_columns(
        cost=pl.Series([paid.get(name) for name in callbacks["callback_id"]], dtype=pl.Float64)
    )
    return first_causes.build(table, callbacks, SETTINGS)


FOUR = causes(
    ("C1", "track_clean", 0.5), ("C1", "jamb_twist", 0.3),
    ("C2", "jamb_twist", 0.6), ("C3", "jamb_twist", 0.15), ("C4", "track_clean", 0.2),
)  # fmt: skip


def test_each_callback_has_one_first_cause_or_none_that_accounts_for_a_fifth():
    found = built(FOUR)
    assert dict(found.select("deviation", "first").iter_rows()) == {"jamb_twist": 1, "track_clean": 2, "unexplained": 1}
    assert found["callbacks"].unique().to_list() == [4]
    assert found["first"].sum() == 4


def test_parts_of_all_callbacks_sum_to_one_and_stand_largest_first():
    found = built(FOUR)
    assert found["deviation"].to_list() == ["jamb_twist", "track_clean", "unexplained"]
    assert found["share"].to_list() == pytest.approx([1.05 / 4, 0.7 / 4, 2.25 / 4])
    assert found["share"].sum() == pytest.approx(1.0)
    assert found.filter(pl.col("share").is_between("share_low", "share_high").not_()).is_empty()


def test_faults_are_told_the_most_first_and_steps_with_them():
    row = built(FOUR).row(by_predicate=pl.col("deviation") == "track_clean", named=True)
    assert (row["faults"], row["step"]) == ("noise; stiff_running", "handover")


def test_known_cost_goes_with_the_parts_and_unknown_cost_is_not_zero():
    found = built(FOUR, {"C1": 100.0, "C2": 200.0})
    cost = dict(found.select("deviation", "cost").iter_rows())
    assert cost == pytest.approx({"jamb_twist": 150.0, "track_clean": 50.0, "unexplained": 100.0})
    assert found["cost_known"].unique().to_list() == [2]
    assert built(FOUR)["cost"].null_count() == 3


def test_no_callback_gives_no_row():
    assert built(pl.DataFrame(schema=CAUSES)).is_empty()


def test_nothing_with_evidence_leaves_the_one_row_that_says_so():
    found = built(causes(("C1", "jamb_twist", 0.0)).filter(pl.col("deviation") == "unexplained"))
    assert found.select("deviation", "first", "share").rows() == [("unexplained", 1, 1.0)]


def test_intervals_hold_the_share_of_which_the_callbacks_were_drawn():
    rng, held = np.random.default_rng(11), []
    for _ in range(60):
        is_first = rng.random(150) < 0.3
        rows = [(f"C{n:03}", "jamb_twist", 0.5 if first else 0.0) for n, first in enumerate(is_first)]
        row = built(causes(*rows, error=1e-6)).row(0, named=True)
        held.append(row["first_low"] <= 0.3 <= row["first_high"])
    assert np.mean(held) >= 0.88


def test_the_error_of_an_effect_does_not_average_out_over_callbacks():
    rows = [(f"C{n:04}", "jamb_twist", 0.4) for n in range(2000)]
    row = built(causes(*rows, error=0.1)).row(0, named=True)
    assert row["share_high"] - row["share_low"] > 0.2


def test_what_stands_on_the_trades_expectation_alone_is_told_apart():
    grades = pl.when(pl.col("callback_id") == "C1").then(pl.lit("strong")).otherwise(pl.lit("too_few"))
    found = built(FOUR.with_columns(evidence=grades))
    shown = dict(found.select("deviation", "shown").iter_rows())
    assert shown["track_clean"] == pytest.approx(0.5 / 4)
    assert shown["jamb_twist"] == pytest.approx(0.3 / 4)
