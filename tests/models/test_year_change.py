"""Whether it gets better: doors of the same age in two years, and what is said where there is too little."""

import polars as pl
import pytest

from tests.models.test_outlook import CALLS, INSTALLS, LAST, calls, doors, settings


def change(run_model, callbacks=CALLS, installs=INSTALLS, **values) -> dict[str, object] | None:
    frame = run_model("year_change", installs=installs, callbacks=callbacks, settings=settings(**values)).frame
    return frame.row(0, named=True) if frame.height else None


def test_where_nothing_changed_none_is_shown_though_more_doors_call_more(run_model):
    found = change(run_model)
    assert found["last_month"] == "2025-06"
    assert found["callbacks"] > 1.5 * found["callbacks_before"]
    assert found["ratio_low"] < 1 < found["ratio_high"]
    assert found["ratio_high"] / found["ratio_low"] < 2


def test_half_as_many_calls_in_the_last_year_are_found(run_model):
    is_late = pl.col("reported_on") > pl.lit("2024-06-30").str.to_date()
    fewer = CALLS.filter(~is_late | (pl.int_range(pl.len()) % 2 == 0))
    found = change(run_model, callbacks=fewer)
    assert found["ratio_high"] < 1
    assert found["ratio_low"] < 0.5 < found["ratio_high"]


def test_paper_on_its_way_is_not_taken_for_better_work(run_model):
    late = calls(INSTALLS, a_year=1.5, delay=120.0)
    found = change(run_model, callbacks=late)
    assert found["is_corrected"]
    assert found["ratio_low"] < 1 < found["ratio_high"]


@pytest.mark.parametrize("as_of", ["2025-07-10", "2025-06-30"])
def test_the_last_month_is_one_that_has_ended(run_model, as_of):
    frame = run_model("year_change", installs=INSTALLS, callbacks=CALLS, settings=f"as_of\n {as_of}").frame
    assert frame["last_month"].to_list() == ["2025-06"]


def test_too_few_and_too_short_are_told_apart(run_model):
    few = change(run_model, callbacks=CALLS.head(6))
    assert few["ratio"] is None
    assert few["callbacks"] + few["callbacks_before"] <= 6
    late = INSTALLS.filter(pl.col("fitted_on") > pl.lit("2024-01-01").str.to_date())
    assert change(run_model, callbacks=CALLS.clear(), installs=late) is None
    assert (LAST.year, doors().height) == (2025, 400)
