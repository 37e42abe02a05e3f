"""Training effects: a planted one is found, none is not, and chance that mends itself is not taken for one."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from pipeline.demo import simulate
from pipeline.demo.simulate import Firm
from pipeline.demo.true_outs import is_out_in
from pipeline.model.marts import training_effects
from tests.in_memory import tables_of_truth

READS = ("staged_installs", "door_time", "episodes", "catalogue_pairs", "catalogue_deviations")


def door_steps(firm: Firm) -> pl.DataFrame:
    ids = firm.records["installs"]["install_id"]
    parts = [
        pl.DataFrame({"install_id": ids, "is_out": is_out_in(firm, step)}).with_columns(step=pl.lit(step))
        for step in firm.catalogue.steps
    ]
    return pl.concat(parts)


def effects_of(firm: Firm, **replaced: pl.DataFrame) -> pl.DataFrame:
    tables = {name: table for name, table in tables_of_truth(firm).items() if name in READS}
    tables |= {"staged_training": firm.records["training"], "door_steps": door_steps(firm)} | replaced
    return training_effects.build(**tables)


@pytest.fixture(scope="module")
def trained() -> Firm:
    """Ten sessions, after which carelessness is 0.4 times what it was."""
    return simulate(doors=4000, crews=10, seed=11, trainings=10, training_factor=0.4)


@pytest.fixture(scope="module")
def found(trained: Firm) -> pl.DataFrame:
    return effects_of(trained)


def test_a_training_that_worked_is_found(found: pl.DataFrame) -> None:
    told = found.filter((pl.col("outcome") == "out_share") & (pl.col("crew") != "all")).drop_nulls("ratio")
    assert told.height >= 5
    assert (told["ratio_high"] < 1).mean() >= 0.6
    assert told["ratio"].median() < 0.75
    assert told.filter(pl.col("ratio_high") < 0.8)["p_value"].max() < 0.05


def test_a_training_that_did_nothing_is_not_found() -> None:
    firms = [simulate(doors=2000, crews=10, seed=seed, trainings=10, training_factor=1.0) for seed in range(20, 26)]
    told = pl.concat([effects_of(firm) for firm in firms]).filter(pl.col("crew") != "all").drop_nulls("ratio")
    holds = told.filter((pl.col("ratio_low") <= 1) & (pl.col("ratio_high") >= 1))
    assert told.height >= 40
    assert holds.height / told.height >= 0.9


def test_counts_are_those_of_the_crew(found: pl.DataFrame, trained: Firm) -> None:
    row = found.filter((pl.col("outcome") == "out_share") & (pl.col("crew") != "all")).row(0, named=True)
    fitted = trained.records["installs"].filter(pl.col("crew") == row["crew"])["fitted_on"]
    gap = row["trained_on"] - timedelta(days=90)
    assert row["doors_after"] == (fitted > row["trained_on"]).sum()
    assert row["doors_before"] == (fitted < gap).sum()
    assert row["doors_just_before"] == fitted.is_between(gap, row["trained_on"]).sum()


def test_all_is_every_training_of_the_step_together(found: pl.DataFrame) -> None:
    for step in found["step"].unique():
        part = found.filter((pl.col("step") == step) & (pl.col("outcome") == "out_share"))
        whole = part.filter(pl.col("crew") == "all").row(0, named=True)
        told = part.filter(pl.col("crew") != "all").drop_nulls("ratio")
        if told.height:
            assert told["ratio"].min() - 1e-9 <= whole["ratio"] <= told["ratio"].max() + 1e-9
            assert whole["doors_after"] == told["doors_after"].sum()


def test_a_crew_sent_to_training_after_bad_luck_is_not_called_better() -> None:
    """Sessions follow the quarter in which a crew happened to be worst; nothing changes by them."""
    naive, honest = [], []
    for seed in range(40, 48):
        firm = simulate(doors=3000, crews=12, seed=seed, trainings=0, careless_sd=0.0, weak_factor=1.0)
        told = effects_of(firm, staged_training=_after_bad_luck(firm)).filter(
            (pl.col("outcome") == "out_share") & (pl.col("crew") != "all")
        )
        naive += told["naive_ratio"].drop_nulls().to_list()
        honest += told["ratio"].drop_nulls().to_list()
        assert told["just_before_ratio"].drop_nulls().median() > 1
    assert np.log(naive).mean() < np.log(honest).mean()
    assert np.log(honest).mean() == pytest.approx(0, abs=0.08)


def _after_bad_luck(firm: Firm) -> pl.DataFrame:
    installs = firm.records["installs"].select("install_id", "crew", "fitted_on")
    outs = door_steps(firm).join(installs, on="install_id")
    quarters = outs.group_by("crew", "step", pl.col("fitted_on").dt.truncate("1q").alias("quarter")).agg(
        pl.col("is_out").mean().alias("share"), pl.len()
    )
    inside = pl.col("quarter").is_between(firm.scenario.starts_on + timedelta(days=300), date(2025, 1, 1))
    worst = quarters.filter(inside & (pl.col("len") >= 8)).sort("share", descending=True)
    chosen = worst.unique(["crew", "step"], keep="first", maintain_order=True).group_by("step").head(3)
    return chosen.select("crew", "step", pl.col("quarter").dt.offset_by("1q").alias("trained_on"), hours=pl.lit(4.0))


def test_few_doors_leave_the_ratio_empty_and_say_why(trained: Firm) -> None:
    few = effects_of(trained, door_steps=door_steps(trained).sample(300, seed=1))
    out = few.filter(pl.col("outcome") == "out_share")
    assert out.height
    empty = out.filter(pl.col("ratio").is_null())
    assert empty.height
    assert empty["note"].str.contains("too few|to compare").all()
    assert empty["doors_before"].is_not_null().all()


def test_one_crew_has_nothing_to_compare_with() -> None:
    firm = simulate(doors=600, crews=1, seed=3, trainings=3)
    told = effects_of(firm)
    assert told.filter(pl.col("crew") != "all").height
    assert told["ratio"].is_null().all()
    assert told["note"].str.contains("to compare|too few").all()


def test_no_training_no_log_and_nothing_recorded_make_no_row(trained: Firm) -> None:
    assert effects_of(trained, staged_training=trained.records["training"].clear()).is_empty()
    tables = tables_of_truth(trained)
    silent = effects_of(trained, episodes=tables["episodes"].clear(), door_steps=door_steps(trained).clear())
    assert silent.is_empty()


def test_the_rows_do_not_depend_on_the_order_of_the_records(trained: Firm, found: pl.DataFrame) -> None:
    tables = tables_of_truth(trained)
    shuffled = {name: tables[name].sample(fraction=1, shuffle=True, seed=2) for name in READS[:3]}
    again = effects_of(trained, **shuffled, door_steps=door_steps(trained).sample(fraction=1, shuffle=True, seed=5))
    assert again["ratio"].to_list() == pytest.approx(found["ratio"].to_list(), rel=1e-6, nan_ok=True)


def test_faults_follow_from_the_listed_links(run_model) -> None:
    rows = run_model(
        "staged_training",
        training="""
        crew | step | trained_on | hours
        all  | sill | 2024-03-01 | 2
        A    | sill | 2024-03-01 | 2
        """,
    ).pick("crew", "step", "hours")
    assert rows == [("A", "sill", 2.0), ("crew all", "sill", 2.0)]


def test_where_all_crews_were_trained_at_once_all_of_them_together_say_the_same_why() -> None:
    firm = simulate(doors=600, crews=4, seed=3)
    trained = pl.DataFrame(
        {
            "crew": firm.crews.names,
            "step": "sill",
            "trained_on": [firm.scenario.ends_on - timedelta(450)] * 4,
            "hours": 4.0,
        }
    )
    told = effects_of(firm, staged_training=trained).filter(step="sill", outcome="out_share")
    assert set(told["note"]) == {"fewer than 2 crews not yet trained in this step to compare with"}
    assert "all" in told["crew"].to_list()
