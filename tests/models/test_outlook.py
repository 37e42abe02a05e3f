"""The outlook and its tables: what counts, what does not, and what is said where there is too little."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

FIRST, LAST = date(2023, 1, 1), date(2025, 6, 30)
DAYS = (LAST - FIRST).days


def doors(n: int = 400) -> pl.DataFrame:
    """Doors fitted evenly, one a crew's turn."""
    fitted = [FIRST + timedelta(days=int(day)) for day in np.linspace(0, DAYS - 40, n)]
    return pl.DataFrame({"install_id": [f"D{i}" for i in range(n)], "crew": "A", "fitted_on": fitted})


def calls(installs: pl.DataFrame, a_year: float = 0.6, delay: float = 1.0, seed: int = 1) -> pl.DataFrame:
    """Callbacks at a constant rate, logged after a geometric delay; what would be logged later is not there."""
    rng = np.random.default_rng(seed)
    rows = []
    for door, start in installs.select("install_id", "fitted_on").iter_rows():
        span = (LAST - start).days
        for day in rng.integers(0, span, rng.poisson(a_year * span / 365.25)):
            reported = start + timedelta(days=int(day))
            rows.append((door, reported, reported + timedelta(days=int(rng.geometric(1 / delay)) - 1)))
    seen = [row for row in rows if row[2] <= LAST]
    table = pl.DataFrame(seen, schema=["install_id", "reported_on", "logged_on"], orient="row")
    return table.with_columns(
        pl.format("C{}", pl.int_range(pl.len())).alias("callback_id"), pl.lit(100.0).alias("cost")
    )


INSTALLS = doors()
CALLS = calls(INSTALLS)


def settings(**values: object) -> pl.DataFrame:
    return pl.DataFrame({"as_of": [LAST], **{name: [value] for name, value in values.items()}})


def outlook(run_model, callbacks=CALLS, installs=INSTALLS, **values) -> pl.DataFrame:
    return run_model("outlook", installs=installs, callbacks=callbacks, settings=settings(**values)).frame


def total(frame: pl.DataFrame) -> dict[str, object]:
    return frame.filter(pl.col("month") == "total").row(0, named=True)


@pytest.fixture
def plain(run_model) -> pl.DataFrame:
    return outlook(run_model)


def test_the_twelve_calendar_months_after_the_last_day_and_their_total(run_model, plain):
    months = [f"2025-{month:02}" for month in range(7, 13)] + [f"2026-{month:02}" for month in range(1, 7)]
    assert sorted(plain["month"]) == [*months, "total"]
    early = run_model("outlook", installs=INSTALLS, callbacks=CALLS, settings="as_of\n 2025-07-10").frame
    assert min(early["month"]) == "2025-08"


def test_the_months_add_up_to_the_total_and_their_limits_do_not(plain):
    months, whole = plain.filter(pl.col("month") != "total"), total(plain)
    assert months["callbacks"].sum() == pytest.approx(whole["callbacks"])
    assert months["cost"].sum() == pytest.approx(whole["cost"])
    assert months["callbacks_low"].sum() < whole["callbacks_low"] < whole["callbacks"]
    assert whole["callbacks"] < whole["callbacks_high"] < months["callbacks_high"].sum()


def test_doors_that_call_at_a_constant_rate_go_on(plain):
    """400 doors x 0.6 a year = 240 callbacks, 100 each."""
    whole = total(plain)
    assert whole["callbacks_low"] < 240 < whole["callbacks_high"]
    assert whole["callbacks"] == pytest.approx(240, rel=0.15)
    assert whole["cost"] == pytest.approx(100 * whole["callbacks"])
    assert whole["from_planned"] == 0


def test_work_to_come_counts_only_where_it_is_planned(run_model, plain):
    """20 doors a month, on average half a year each within the year: 120 door-years x 0.6."""
    planned = total(outlook(run_model, planned_doors_per_month=20.0))
    assert planned["from_planned"] == pytest.approx(72, rel=0.25)
    assert planned["from_doors_out"] == pytest.approx(total(plain)["callbacks"], rel=0.02)
    assert planned["callbacks"] == pytest.approx(planned["from_planned"] + planned["from_doors_out"])


def test_callbacks_without_a_known_door_count_too(run_model, plain):
    lost = CALLS.with_columns(pl.when(pl.int_range(pl.len()) % 3 > 0).then("install_id").alias("install_id"))
    assert total(outlook(run_model, lost))["callbacks"] == pytest.approx(total(plain)["callbacks"], rel=0.05)


def test_late_paper_does_not_lower_the_outlook(run_model):
    """Logged 45 days late on average: a third of the last quarter is not on paper yet."""
    late = calls(INSTALLS, delay=45.0)
    corrected = total(outlook(run_model, late))
    taken_for_all = total(outlook(run_model, late.with_columns(pl.lit(None, pl.Date).alias("logged_on"))))
    assert corrected["callbacks_low"] < 240 < corrected["callbacks_high"]
    assert corrected["callbacks"] > 1.04 * taken_for_all["callbacks"]


def test_a_removed_door_brings_nothing_more(run_model, plain):
    removed = INSTALLS.with_columns(pl.when(pl.int_range(pl.len()) % 2 == 0).then(pl.lit(LAST)).alias("removed_on"))
    assert total(outlook(run_model, installs=removed))["callbacks"] < 0.6 * total(plain)["callbacks"]


def test_doors_leave_the_outlook_with_their_warranty_where_the_log_does(run_model):
    """12 months of warranty: of the doors of the last year half a year each is left."""
    ended = CALLS.join(INSTALLS, on="install_id").filter(
        pl.col("reported_on") <= pl.col("fitted_on").dt.offset_by("12mo")
    )
    ended = ended.select(CALLS.columns)
    whole = total(outlook(run_model, ended, warranty_months=12.0, log_ends_with_warranty=True))
    in_warranty = INSTALLS.filter(pl.col("fitted_on") > LAST - timedelta(days=365))["fitted_on"]
    left = sum(365.25 - (LAST - day).days for day in in_warranty) / 365.25
    assert whole["callbacks"] == pytest.approx(0.6 * left, rel=0.25)
    assert total(outlook(run_model, ended, warranty_months=12.0))["callbacks"] != pytest.approx(
        whole["callbacks"], rel=0.1
    )


def test_the_same_records_give_the_same_table_and_another_seed_other_draws(run_model, plain):
    assert outlook(run_model).equals(plain)
    other = total(outlook(run_model, seed=2))
    assert other["callbacks"] == pytest.approx(total(plain)["callbacks"], rel=0.02)
    assert other["callbacks"] != total(plain)["callbacks"]


def test_without_a_known_cost_there_is_none_and_few_callbacks_are_too_few(run_model):
    costless = outlook(run_model, CALLS.with_columns(pl.lit(None, pl.Float64).alias("cost")))
    assert costless["cost"].null_count() == costless["cost_high"].null_count() == 13
    few = outlook(run_model, CALLS.head(5))
    assert few["basis"].unique().to_list() == ["too_few"]
    assert few["callbacks"].null_count() == 13
    assert outlook(run_model, CALLS.clear()).height == 13
    assert outlook(run_model, CALLS.clear(), INSTALLS.clear()).height == 0


def test_calls_before_handover_come_with_planned_doors_only(run_model):
    installs = INSTALLS.with_columns((pl.col("fitted_on") + timedelta(days=10)).alias("handed_over_on"))
    snags = installs.select(
        "install_id",
        (pl.col("fitted_on") + timedelta(days=2)).alias("reported_on"),
        (pl.col("fitted_on") + timedelta(days=2)).alias("logged_on"),
        pl.format("S{}", pl.int_range(pl.len())).alias("callback_id"),
        pl.lit(100.0).alias("cost"),
    )
    after = CALLS.join(installs, on="install_id").filter(pl.col("reported_on") > pl.col("handed_over_on"))
    after = after.select(snags.columns)
    both = pl.concat([after, snags])
    alone, with_snags = (total(outlook(run_model, c, installs, planned_doors_per_month=20.0)) for c in (after, both))
    assert with_snags["from_doors_out"] == pytest.approx(alone["from_doors_out"], rel=0.05)
    assert with_snags["from_planned"] - alone["from_planned"] == pytest.approx(240, rel=0.05)


def test_the_months_seen_are_corrected_for_paper_that_has_not_arrived(run_model):
    late = calls(INSTALLS, delay=20.0)
    table = run_model("late_paper", installs=INSTALLS, callbacks=late, settings=settings()).frame.sort("month")
    assert table["reported"].sum() == late.height
    last = table.row(-1, named=True)
    assert last["arrived_share"] < 0.8
    assert last["corrected_low"] <= last["corrected"] <= last["corrected_high"]
    assert last["corrected_low"] >= last["reported"]
    assert (last["is_over"], last["is_complete"]) == (True, False)
    assert table["corrected"][0] == pytest.approx(table["reported"][0])
    assert LAST - timedelta(days=90) < last["complete_to"] < LAST - timedelta(days=40)
    delays = run_model("paper_delays", installs=INSTALLS, callbacks=late, settings=settings()).frame
    assert delays["callbacks"].sum() == late.height
    assert delays.sort("delay_days")["arrived_share"].is_sorted()


def test_where_no_day_of_logging_is_written_nothing_is_corrected_and_that_is_said(run_model):
    unknown = CALLS.with_columns(pl.lit(None, pl.Date).alias("logged_on"))
    table = run_model("late_paper", installs=INSTALLS, callbacks=unknown, settings=settings()).frame
    assert table["is_corrected"].unique().to_list() == [False]
    assert table["corrected"].to_list() == pytest.approx(table["reported"].to_list())


def test_looking_back_knows_only_what_was_on_paper_and_meets_what_came(run_model):
    table = run_model("outlook_backtest", installs=INSTALLS, callbacks=CALLS, settings=settings()).frame
    assert max(table["made_on"]) == date(2024, 6, 30)
    row = table.filter(pl.col("made_on") == date(2024, 6, 30)).row(0, named=True)
    assert row["until_on"] == LAST
    assert row["callbacks_then"] == CALLS.filter(pl.col("logged_on") <= date(2024, 6, 30)).height
    assert row["seen"] == CALLS.filter(pl.col("reported_on") > date(2024, 6, 30)).height
    assert row["is_inside"] == (row["callbacks_low"] <= round(row["came"]) <= row["callbacks_high"])
    assert row["callbacks"] == pytest.approx(row["came"], rel=0.3)


def test_a_short_log_is_not_looked_back_on(run_model):
    given = {"installs": INSTALLS, "callbacks": CALLS}
    short = run_model("outlook_backtest", **given, settings=settings(callbacks_from=date(2024, 5, 1)))
    assert short.frame.height == 0


def test_the_chain_ladder_agrees_where_rates_are_constant(run_model, plain):
    table = run_model("development", installs=INSTALLS, callbacks=CALLS, settings=settings()).frame
    whole = table.filter(pl.col("cohort") == "total").row(0, named=True)
    assert whole["doors"] == table.filter(pl.col("cohort") != "total")["doors"].sum()
    assert whole["low"] < total(plain)["callbacks"] * whole["doors"] / INSTALLS.height < whole["high"]
    assert table.filter(pl.col("cohort") != "total")["to_come"].sum() == pytest.approx(whole["to_come"])


def test_too_few_callbacks_for_a_chain_ladder_give_no_row(run_model):
    given = {"installs": INSTALLS, "callbacks": CALLS.head(30)}
    assert run_model("development", **given, settings=settings()).frame.height == 0
