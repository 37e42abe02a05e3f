"""Few data: every model gives its table, and says what cannot be known."""

from datetime import date
from typing import Any

import polars as pl
import pytest

from pipeline.catalogue import catalogue_tables, load_catalogue
from pipeline.model.marts import callback_rates, effect_fits, effects, fault_bases, through_steps, weak_steps

TABLES = catalogue_tables(load_catalogue())
ORDINALS = dict(TABLES["catalogue_deviations"].select("name", "ordinal").iter_rows())
AS_OF = date(2026, 6, 30)
COVARIATES = ("product", "material", "colour", "storey", "exposure", "substrate", "work")
NUMBERS = ("leaves", "width_mm", "height_mm", "leaf_weight_kg")


def gathered_values(ids: list[str], values: dict[str, list[float | None]]) -> pl.DataFrame:
    """door_values of the doors ids."""
    cells = [
        {"install_id": ids[door], "ordinal": float(ORDINALS[name]), "amount": column[door]}
        for name, column in values.items()
        for door in range(len(ids))
        if column[door] is not None
    ]
    return (
        pl.DataFrame(cells, schema={"install_id": pl.String, "ordinal": pl.Float64, "amount": pl.Float64})
        .group_by("install_id")
        .agg(pl.col("ordinal").alias("ordinals"), pl.col("amount").alias("amounts"))
    )


def firm(
    n: int, crews: int, values: dict[str, list[float | None]] | None = None, calls: list[tuple[int, str]] | None = None
) -> dict[str, pl.DataFrame]:
    """n doors fitted on one day; values by deviation; calls as (door, fault), each a year after handover."""
    ids = [f"D{door:04d}" for door in range(n)]
    crew = [f"Crew {door % crews if crews else 0}" for door in range(n)]
    start = date(2025, 1, 1)
    texts = {"install_id": pl.String, "crew": pl.String}
    installs = pl.DataFrame(
        {"install_id": ids, "crew": crew, "fitted_on": [start] * n}, schema={**texts, "fitted_on": pl.Date}
    ).with_columns(
        *(pl.lit(None, dtype=pl.String).alias(name) for name in COVARIATES),
        *(pl.lit(None, dtype=pl.Float64).alias(name) for name in NUMBERS),
    )
    door_time = pl.DataFrame(
        {"install_id": ids, "crew": crew, "from_on": [start] * n, "entry_days": [0.0] * n, "exit_days": [545.5] * n},
        schema={**texts, "from_on": pl.Date, "entry_days": pl.Float64, "exit_days": pl.Float64},
    ).with_columns(door_years=pl.col("exit_days") / 365.25)
    gathered = gathered_values(ids, values or {})
    rows = [
        (f"C{k}", ids[door], crew[door], fault, date(2026, 1, 1), 365.0, "episode", True)
        for k, (door, fault) in enumerate(calls or [])
    ]
    names = ["callback_id", "install_id", "crew", "fault", "reported_on", "age_days", "kind", "is_answered_for"]
    kinds = [pl.String] * 4 + [pl.Date, pl.Float64, pl.String, pl.Boolean]
    episodes = pl.DataFrame(rows, schema=dict(zip(names, kinds, strict=True)), orient="row")
    return {
        "staged_installs": installs,
        "door_time": door_time,
        "door_values": gathered,
        "door_limits": gathered.clear().with_columns(lows="amounts"),
        "episodes": episodes,
        "coded_callbacks": episodes.select("callback_id", "fault"),
        "staged_callbacks": episodes.select("callback_id", pl.lit(None, dtype=pl.Float64).alias("cost")),
        "record_credibility": pl.DataFrame(schema={"crew": pl.String, "verdict": pl.String}),
        "settings": pl.DataFrame({"seed": [1], "as_of": [AS_OF]}),
    }


BASES = ("staged_installs", "door_time", "door_values", "door_limits", "episodes", "settings")
WEAK_STEPS_READ = ("door_time", "door_values", "door_limits", "episodes", "settings")


def effects_of(tables: dict[str, pl.DataFrame]) -> pl.DataFrame:
    catalogue: dict[str, Any] = {name: TABLES[name] for name in ("catalogue_deviations", "catalogue_pairs")}
    read = {name: tables[name] for name in BASES} | catalogue
    bases = fault_bases.build(**read)
    fits = effect_fits.build(**read, coded_callbacks=tables["coded_callbacks"], fault_bases=bases, part=(0, 1))
    graded = {name: table for name, table in tables.items() if name != "coded_callbacks"}
    return effects.build(fits, **graded, **catalogue)


def rates_of(tables: dict[str, pl.DataFrame]) -> pl.DataFrame:
    names = ("staged_installs", "door_time", "episodes", "staged_callbacks", "settings")
    catalogue: dict[str, Any] = {name: TABLES[name] for name in ("catalogue_deviations", "catalogue_pairs")}
    steps = through_steps.build(**{name: tables[name] for name in BASES}, **catalogue)
    return callback_rates.build(**{name: tables[name] for name in names}, through_steps=steps)


def test_no_doors_at_risk() -> None:
    tables = firm(0, 1)
    assert effects_of(tables).height == 0
    assert rates_of(tables).filter(pl.col("crew") != "all").height == 0


def test_five_doors_one_crew_no_callbacks() -> None:
    tables = firm(5, 1, {"sill_bow": [1.0, 2.0, None, 0.5, 3.0]})
    assert effects_of(tables).height == 0
    rates = rates_of(tables)
    assert rates["rate"].to_list() == [0.0, 0.0]
    assert rates["rate_high"].min() > 0
    assert rates["funnel"].to_list() == ["empty", "empty"]


def test_a_few_callbacks_are_too_few() -> None:
    tables = firm(40, 2, {"sill_bow": [door / 10 for door in range(40)]}, [(k, "stiff_running") for k in range(4)])
    row = effects_of(tables).row(0, named=True)
    assert (row["evidence"], row["events"], row["hazard_ratio"]) == ("too_few", 4, None)
    assert "4 first callbacks" in row["note"]


def test_a_deviation_that_never_varies() -> None:
    calls = [(k, "stiff_running") for k in range(20)]
    row = effects_of(firm(60, 3, {"sill_bow": [1.0] * 60}, calls)).row(0, named=True)
    assert row["evidence"] == "too_few"
    assert "the same on every door" in row["note"]


def test_two_deviations_that_are_the_same_cannot_be_told_apart() -> None:
    column = [float((door * 7) % 60) / 20 for door in range(600)]
    calls = [(k, "stiff_running") for k in range(0, 600, 4)]
    found = effects_of(firm(600, 6, {"sill_bow": list(column), "sill_level_error": list(column)}, calls))
    assert found["evidence"].to_list() == ["too_few", "too_few"]
    notes = dict(found.select("deviation", "note").iter_rows())
    assert notes["sill_bow"] == "cannot be told apart from sill out of level"
    assert notes["sill_level_error"] == "cannot be told apart from sill bowed or dipped"
    assert found["hazard_ratio"].null_count() == 2


def test_a_copy_of_an_earlier_deviation_leaves_the_earlier_one_its_effect() -> None:
    column = [float((door * 7) % 60) / 20 for door in range(600)]
    calls = [(k, "stiff_running") for k in range(600) if (k * 7) % 60 > 40]
    found = effects_of(firm(600, 6, {"sill_bow": list(column), "head_bow": list(column)}, calls))
    rows = {row["deviation"]: row for row in found.iter_rows(named=True)}
    assert rows["head_bow"]["note"] == "cannot be told apart from sill bowed or dipped"
    assert 1 < rows["sill_bow"]["hr_low"] < rows["sill_bow"]["hr_high"] < 1e4


@pytest.mark.parametrize("crews", [1, 600])
def test_one_crew_or_a_crew_for_every_door_gives_finite_figures_or_a_sentence(crews: int) -> None:
    column = [float((door * 7) % 60) / 20 for door in range(600)]
    calls = [(k, "stiff_running") for k in range(0, 600, 4)]
    row = effects_of(firm(600, crews, {"sill_bow": column}, calls)).row(0, named=True)
    assert row["note"]
    assert row["hr_high"] is None or 0 < row["hr_low"] < row["hr_high"] < 1e4
    assert (row["evidence"] == "too_few") == (row["hazard_ratio"] is None)


def test_worse_on_both_sides_is_told_by_the_distance_from_the_middle(monkeypatch: pytest.MonkeyPatch) -> None:
    both = pl.when(pl.col("name") == "sill_bow").then(pl.lit("both")).otherwise("worse").alias("worse")
    monkeypatch.setitem(TABLES, "catalogue_deviations", TABLES["catalogue_deviations"].with_columns(both))
    column = [float((door * 7) % 61) / 10 for door in range(1200)]  # 0 to 6, limits 2 to 4
    calls = [(k, "stiff_running") for k in range(1200) if abs(column[k] - 3) > 2.2 or k % 20 == 0]
    tables = firm(1200, 6, {"sill_bow": list(column)}, calls)
    n = len(column)
    tables["door_limits"] = tables["door_values"].select(
        "install_id", "ordinals", lows=pl.Series([[2.0]] * n), amounts=pl.Series([[4.0]] * n)
    )
    row = effects_of(tables).row(0, named=True)
    assert row["evidence"] == "strong"
    assert 0 <= row["contrast_from"] < 1 < 2 < row["contrast_to"] <= 3  # distances, better to worse
    assert row["hr_low"] > 1
    assert 0.3 < row["attributable_low"] < row["attributable_share"] < row["attributable_high"] <= 1


def test_a_check_of_each_leaf_is_judged_on_what_doors_that_failed_it_show() -> None:
    """One leaf of four, sometimes two: that all four fail was never seen, and is no ratio to tell anybody."""
    column = [(0.5 if door % 40 == 0 else 0.25) if door % 8 == 0 else 0.0 for door in range(1600)]
    calls = [(k, "dropped_leaf") for k in range(1600) if (k % 24 if column[k] else k % 37) == 0]
    row = effects_of(firm(1600, 6, {"toe_and_heel": list(column)}, calls)).row(0, named=True)
    assert (row["contrast_from"], row["contrast_to"]) == (0.0, pytest.approx(0.3))
    assert row["contrast_ratio"] == pytest.approx(row["hazard_ratio"] ** 0.3)  # stated for a share of 1
    assert row["evidence"] != "too_few"


def test_complete_separation_gives_finite_ratios() -> None:
    column = [float(door < 200) * 3 + (door % 10) / 10 for door in range(800)]
    found = effects_of(firm(800, 8, {"sill_bow": column}, [(k, "stiff_running") for k in range(200)]))
    row = found.row(0, named=True)
    assert row["evidence"] == "strong"
    assert 1 < row["hr_low"] < row["hazard_ratio"] < row["hr_high"] < 1e4


@pytest.mark.parametrize(
    ("doubted", "evidence"), [(["Crew 1"], "strong"), ([f"Crew {k}" for k in range(8)], "suggestive")]
)
def test_a_finding_that_rests_on_doubtful_records_is_a_hint(doubted: list[str], evidence: str) -> None:
    column = [float(door < 200) * 3 + (door % 10) / 10 for door in range(800)]
    tables = firm(800, 8, {"sill_bow": column}, [(k, "stiff_running") for k in range(200)])
    tables["record_credibility"] = pl.DataFrame({"crew": doubted, "verdict": ["doubtful"] * len(doubted)})
    row = effects_of(tables).row(0, named=True)
    assert row["evidence"] == evidence
    assert row["doubted_doors"] == 100 * len(doubted)
    assert (row["ratio_without_doubtful"] is None) == (evidence == "suggestive")


def test_a_finding_too_sure_for_a_p_value_is_fitted_again_without_doubtful_records_too() -> None:
    is_bowed = [door // 8 % 2 == 1 for door in range(40_000)]
    column = [3 * bowed + (door % 7) / 10 for door, bowed in enumerate(is_bowed)]
    calls = [(door, "stiff_running") for door, bowed in enumerate(is_bowed) if bowed or door % 5 == 0]
    tables = firm(40_000, 8, {"sill_bow": column}, calls)
    tables["record_credibility"] = pl.DataFrame({"crew": ["Crew 1"], "verdict": ["doubtful"]})
    row = effects_of(tables).row(0, named=True)
    assert row["p_value"] == 0.0
    assert row["ratio_without_doubtful"] > 1
    assert row["evidence"] == "strong"


def test_one_crew_uses_the_models_own_variance_and_says_so() -> None:
    column = [((door * 37) % 101) / 30 for door in range(800)]
    calls = [(k, "stiff_running") for k in range(800) if (k * 13) % 17 == 0]
    row = effects_of(firm(800, 1, {"sill_bow": column}, calls)).row(0, named=True)
    assert row["hazard_ratio"] is not None
    assert "one crew only" in row["note"]


def test_every_fault_of_the_same_door_counts_once_per_fault() -> None:
    rates = rates_of(firm(30, 3, calls=[(1, "draught"), (1, "noise"), (2, "draught")]))
    assert rates.filter(pl.col("crew") == "all")["callbacks"].item() == 3


@pytest.mark.parametrize("crews", [1, 2, 5])
def test_expected_callbacks_sum_to_those_seen(crews: int) -> None:
    rates = rates_of(firm(100, crews, calls=[(k, "draught") for k in range(0, 100, 7)]))
    assert rates.filter(pl.col("crew") != "all")["expected"].sum() == pytest.approx(15)


def test_weak_steps_count_doors_with_anything_recorded() -> None:
    steps = pl.DataFrame(
        {
            "install_id": ["D0", "D1", "D2", "D3"],
            "step": ["sill"] * 4,
            "is_out": [True, False, False, True],
            "is_undecided": [False, True, False, False],
        }
    )
    crews = pl.DataFrame({"install_id": ["D0", "D1", "D2", "D3", "D4"], "crew": ["A", "A", "A", "B", "B"]})
    rest = {name: table for name, table in firm(0, 1).items() if name in WEAK_STEPS_READ}
    nothing_shown = pl.DataFrame(schema={"fault": pl.String, "evidence": pl.String})
    catalogue = {name: TABLES[name] for name in ("catalogue_deviations", "catalogue_pairs")}
    found = weak_steps.build(steps, crews, effects=nothing_shown, **rest, **catalogue).sort("crew")
    assert found["priority"].to_list() == [None, None]
    assert found["doors"].to_list() == [3, 1]
    assert found["out_share"].to_list() == pytest.approx([1 / 3, 1.0])
    assert found["firm_out_share"].to_list() == pytest.approx([0.5, 0.5])
    # 2 of 4 by Wilson, worked by hand: (0.5 + z2/8 -+ z sqrt(1/16 + z2/64)) / (1 + z2/4) with z2 = 3.8415
    assert found.select("firm_out_low", "firm_out_high").row(0) == pytest.approx((0.150, 0.850), abs=5e-4)
    # a crew with one door is pulled far towards the firm
    assert found["shrunk_share"][1] < 0.9


def test_one_crew_is_not_compared_with_itself() -> None:
    rates = rates_of(firm(100, 1, calls=[(k, "draught") for k in range(0, 100, 7)]))
    crew = rates.row(0, named=True)
    assert (crew["funnel"], crew["fair_ratio"], crew["ratio_low"]) == ("empty", None, None)
    assert (crew["expected"], crew["ratio"]) == (pytest.approx(15), 1.0)


def test_a_crew_that_never_met_the_firms_mix_has_no_rate_on_it() -> None:
    tables = firm(200, 2, calls=[(k, "draught") for k in range(0, 200, 3)])
    storey = pl.Series(["ground", "first"] * 100)  # each crew has one of the two
    tables["staged_installs"] = tables["staged_installs"].with_columns(storey.alias("storey"))
    crews = rates_of(tables).filter(pl.col("crew") != "all")
    told, refused = crews.filter(pl.col("direct_note") == ""), crews.filter(pl.col("direct_note") != "")
    assert told.select("direct_rate", "direct_low", "direct_high").null_count().sum_horizontal().item() == 0
    for name in ("direct_rate", "direct_low", "direct_high"):
        assert refused[name].null_count() == refused.height
    assert refused.height == 2
    assert "storey" in refused["direct_note"][0]
