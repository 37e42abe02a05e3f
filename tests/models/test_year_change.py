"""Whether it gets better: doors of the same age in two years, and what is said where there is too little."""

import numpy as np
import polars as pl
import pytest

from pipeline.model.marts.year_change import _told
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


def test_the_interval_holds_where_months_differ_and_doors_call_in_clumps():
    rng, clumping, true = np.random.default_rng(3), 1.4, 0.8
    held = []
    for _ in range(400):
        time = rng.uniform(2, 8, (2, 6, 12)) * np.array([0.7, 1.0])[:, None, None]
        season = np.exp(0.25 * np.sin(np.arange(12) * np.pi / 6) + rng.normal(0, 0.15, (2, 1, 12)))
        rate = np.geomspace(0.7, 0.1, 6)[:, None] * season * np.array([1.0, true])[:, None, None]
        came = rng.negative_binomial(time * rate / (clumping - 1), 1 / clumping)
        if told := _told(came.astype(float), time, clumping):
            held.append(told[1] <= true <= told[2])
    assert len(held) > 350
    assert 0.92 < np.mean(held) < 0.99
