"""model_checks: a plain world is not called missed, a planted meeting of two deviations is; few data."""

import numpy as np
import polars as pl
import pytest

from pipeline.demo import simulate
from pipeline.model import challenger
from pipeline.model.marts import model_checks
from pipeline.stats.intervals import Floats
from tests.in_memory import tables_of_truth

READ = (
    "staged_installs", "door_time", "door_values", "episodes", "catalogue_deviations", "catalogue_pairs",
)  # fmt: skip
FAULT, PLANTED = "stiff_running", ("sill_level_error", "jamb_plumb_error")
Tables = dict[str, pl.DataFrame]


def tables(seed: int, doors: int = 1500, **scenario: float) -> tuple[Tables, dict[str, Floats]]:
    """What model_checks reads, and the true deviations."""
    firm = simulate(doors=doors, crews=12, seed=seed, **{"callbacks_per_door": 0.9, **scenario})
    made = tables_of_truth(firm)
    read = {name: made[name] for name in READ}
    limits = made["door_values"].clear().with_columns(lows="amounts")
    return read | {"door_limits": limits, "settings": pl.DataFrame({"seed": [1]})}, firm.true


def planted(given: Tables, log_ratio: Floats, seed: int, events: int = 260) -> Tables:
    """The same firm with first callbacks for FAULT drawn from this log ratio of each door."""
    time = given["door_time"].sort("install_id")
    years = time["door_years"].to_numpy()
    hazard = years * np.exp(log_ratio)
    hazard = hazard * events / hazard.sum()
    grown = np.random.default_rng(seed).exponential(size=len(hazard))
    door = np.flatnonzero(grown < hazard)
    age = np.floor(time["entry_days"].to_numpy()[door] + (grown / np.maximum(hazard, 1e-9) * years)[door] * 365.25)
    others = given["episodes"].filter(pl.col("fault") != FAULT)
    new = time[door.tolist()].select("install_id", "crew", "started_on").with_columns(age_days=pl.Series(age))
    new = new.with_columns(
        callback_id=pl.format("P{}", pl.int_range(pl.len())), fault=pl.lit(FAULT), kind=pl.lit("episode"),
        is_answered_for=pl.lit(True), reported_on=pl.col("started_on") + pl.duration(days="age_days"),
    )  # fmt: skip
    kept = [name for name in others.columns if name in new.columns]
    return given | {"episodes": pl.concat([others.select(kept), new.select(kept).cast(others.select(kept).schema)])}


def row(table: pl.DataFrame, fault: str) -> dict[str, object]:
    return table.row(by_predicate=pl.col("fault") == fault, named=True)


@pytest.fixture(scope="module")
def firm() -> tuple[Tables, dict[str, Floats]]:
    return tables(51)


@pytest.fixture(scope="module")
def checked(firm: tuple[Tables, dict[str, Floats]]) -> pl.DataFrame:
    return model_checks.build(**firm[0])


def together(true: dict[str, Floats]) -> Floats:
    """Five times the risk where both deviations are large, else no difference."""
    large = [true[name] > np.quantile(true[name], 0.6) for name in PLANTED]
    return np.log(5) * np.asarray(large[0] & large[1])


@pytest.mark.slow
def test_a_world_that_is_as_the_plain_model_has_it_is_not_called_missed(checked: pl.DataFrame) -> None:
    # the chance of any false call is 5 % a firm at most, so two in six come once in thirty
    rounds = [checked, *(model_checks.build(**tables(seed)[0]) for seed in range(52, 57))]
    assert sum((table["verdict"] == model_checks.MISSED).any() for table in rounds) <= 1
    assert all(row(table, "all")["verdict"] != model_checks.TOO_FEW for table in rounds)
    whole = [row(table, "all") for table in rounds]
    # differences and level are as foretold, in firms where nothing changes
    assert 0.8 < np.mean([each["slope_plain"] for each in whole]) < 1.2
    assert 0.85 < np.mean([each["level_plain"] for each in whole]) < 1.15
    assert all(each["c_plain_low"] > 0.6 for each in whole)


@pytest.mark.slow
def test_two_deviations_that_matter_only_together_are_found_and_named(firm: tuple[Tables, dict[str, Floats]]) -> None:
    given, true = firm
    found = row(model_checks.build(**planted(given, together(true), 1)), FAULT)
    assert found["verdict"] == model_checks.MISSED
    assert found["c_gain"] > 0.01
    words = given["catalogue_deviations"].filter(pl.col("name").is_in(list(PLANTED)))["words"].to_list()
    assert set(words) <= set(str(found["look_at"]).split(", "))


def test_what_a_line_can_say_is_not_missed(firm: tuple[Tables, dict[str, Floats]]) -> None:
    given, true = firm
    line = 0.8 * (true[PLANTED[0]] - true[PLANTED[0]].mean()) / true[PLANTED[0]].std()
    found = row(model_checks.build(**planted(given, line, 2)), FAULT)
    assert found["verdict"] == model_checks.NOTHING
    assert found["slope_plain_low"] < 1 < found["slope_plain_high"]
    assert found["look_at"] is None


def test_counts_are_those_of_the_records(firm: tuple[Tables, dict[str, Floats]], checked: pl.DataFrame) -> None:
    episodes = firm[0]["episodes"].filter((pl.col("kind") == "episode") & pl.col("is_answered_for"))
    first = episodes.sort("reported_on").unique(["install_id", "fault"], keep="first")
    found = row(checked, "dropped_leaf")
    of_fault = first.filter(pl.col("fault") == "dropped_leaf")
    assert found["before"] + found["came"] == of_fault.height
    assert found["before"] == (of_fault["reported_on"] <= found["cut_on"]).sum()
    counts = checked.filter((pl.col("fault") != "all") & (pl.col("before") >= challenger.LEAST_EARLIER))
    assert row(checked, "all")["came"] == counts["came"].sum()


def test_intervals_hold_their_middle_and_few_faults_say_what_is_lacking(checked: pl.DataFrame) -> None:
    judged = checked.filter(pl.col("verdict") != model_checks.TOO_FEW)
    assert judged.height >= 4
    for name in ("c_plain", "c_challenger", "c_gain", "slope_plain", "slope_challenger", "level_plain"):
        assert (judged[f"{name}_low"] < judged[name]).all()
        assert (judged[name] < judged[f"{name}_high"]).all()
    few = checked.filter(pl.col("verdict") == model_checks.TOO_FEW)
    assert few.height
    assert few["c_plain"].null_count() == few.height
    assert few["note"].str.contains("are needed to learn from").all()


def test_the_order_of_rows_changes_nothing(firm: tuple[Tables, dict[str, Floats]], checked: pl.DataFrame) -> None:
    mixed = {name: table.sample(fraction=1, shuffle=True, seed=3) for name, table in firm[0].items()}
    assert model_checks.build(**mixed).equals(checked)


def test_a_sample_of_the_doors_without_the_fault_says_nearly_the_same(
    firm: tuple[Tables, dict[str, Floats]], checked: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(challenger, "MOST_OTHERS", 700)
    sampled, whole = row(model_checks.build(**firm[0]), "all"), row(checked, "all")
    assert sampled["came"] == whole["came"]
    assert sampled["c_plain"] == pytest.approx(whole["c_plain"], abs=0.03)
    assert sampled["slope_plain"] == pytest.approx(whole["slope_plain"], abs=0.15)
    assert sampled["level_plain"] == pytest.approx(whole["level_plain"], rel=0.1)


def test_when_recording_began_is_nothing_that_the_trees_can_use(firm: tuple[Tables, dict[str, Floats]]) -> None:
    given, _ = firm
    early = given["staged_installs"].sort("started_on").head(600)["install_id"].implode()
    measured_later = given["door_values"].with_columns(
        amounts=pl.when(pl.col("install_id").is_in(early))
        .then(pl.col("amounts").list.eval(pl.when(pl.int_range(pl.len()) % 2 == 0).then(pl.element())))
        .otherwise("amounts")
    )
    assert measured_later["amounts"].list.eval(pl.element().is_null().sum()).list.first().sum() > 5000
    whole = row(model_checks.build(**given | {"door_values": measured_later}), "all")
    assert whole["verdict"] == model_checks.NOTHING
    assert whole["c_challenger"] > whole["c_plain"] - 0.03
    assert 0.75 < whole["level_challenger"] / whole["level_plain"] < 1.33


def test_a_small_firm_is_told_that_its_callbacks_are_too_few() -> None:
    table = model_checks.build(**tables(57, doors=150)[0])
    assert set(table["verdict"]) <= {model_checks.TOO_FEW}


def test_without_callbacks_or_deviations_there_is_a_table_all_the_same() -> None:
    given, _ = tables(58, doors=400)
    assert model_checks.build(**given | {"episodes": given["episodes"].clear()}).is_empty()
    bare = model_checks.build(**given | {"door_values": given["door_values"].clear()})
    assert bare.height
    unwatched = model_checks.build(**given | {"door_time": given["door_time"].clear()})
    assert set(unwatched["verdict"]) <= {model_checks.TOO_FEW}
    assert unwatched["doors"].sum() == 0
