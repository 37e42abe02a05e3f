"""Early warnings and trainings in words: never more than the interval, never silent about what is too few."""

from dataclasses import replace
from datetime import date

import pytest

from pipeline.report.reading import Results
from pipeline.report.rows.signal_rows import Watched
from pipeline.report.words import signals as words
from pipeline.report.words import training
from tests.report.conftest import Pages
from tests.report.invented import invented_tables, write_results


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    path = write_results(tmp_path_factory.mktemp("signals") / "results.duckdb", invented_tables())
    with Results(path) as opened:
        yield opened


def test_the_heading_counts_the_latest_alarm_of_each_chart(results):
    found = words.recent(results.signals(), date(2026, 6, 30))
    assert len(found) == 2
    assert words.signals_say(found, results.charts_watched()) == "Two early warnings in the last twelve months"


def test_an_alarm_of_long_ago_is_no_early_warning(results):
    assert words.recent(results.signals(), date(2027, 6, 30)) == []
    watched = results.charts_watched()
    assert words.signals_say([], watched) == "No chart is out of control in the last twelve months"
    assert "older" in words.what_is_watched(watched, 0, 2)[-1]


def test_how_often_all_charts_alarm_falsely_stands_beside_them(results):
    watched = results.charts_watched()
    assert (watched.charts, watched.too_short) == (2, 1)
    told = " ".join(words.what_is_watched(watched, 2, 0))
    assert "0.6 false alarms a year" in told
    assert "1 chart has too short a past" in told


def test_without_a_chart_nothing_is_called_in_control():
    nothing = Watched(0, 0, 0.0)
    assert "No early warning yet" in words.signals_say([], nothing)
    assert words.what_is_watched(nothing, 0, 0) == [
        "Early warnings need doors of several months with readings, or a log."
    ]


def test_charts_are_said_to_be_shown_because_they_stand_out(results):
    signal = results.signals()[0]
    assert "the true change is likely smaller" in " ".join(words.what_is_watched(results.charts_watched(), 1, 0))
    assert words.READ not in words.what_is_watched(results.charts_watched(), 0, 0)
    assert words.act(signal) == "Look at the latest doors first."


def test_a_training_is_said_to_have_worked_only_where_its_interval_clears_one(results):
    outs = [effect for effect in results.training_effects() if effect.outcome == "out_share"]
    assert training.says(outs, "out_share") == (
        "Doors with something out: fewer since the training of crew K4, sill; 2 of 3 trainings can be judged"
    )
    unsure = [replace(effect, ratio_high=1.2) for effect in outs if effect.ratio]
    assert "no training is told apart from no change" in training.says(unsure, "out_share")
    worse = [replace(effect, ratio=1.5, ratio_low=1.1, ratio_high=2.0) for effect in outs if effect.crew == "K4"]
    assert "more since that of crew K4, sill" in training.says(worse, "out_share")


def test_all_trainings_of_a_step_have_a_line_only_where_they_are_several(results):
    outs = [effect for effect in results.training_effects() if effect.outcome == "out_share"]
    assert [effect.crew for effect in training.worth_a_line(outs)] == ["K4", "K7"]
    two = [*outs, *(replace(effect, crew="K8") for effect in outs if effect.crew == "K4")]
    assert [effect.crew for effect in training.worth_a_line(two)] == ["all", "K4", "K7", "K8"]


def test_too_few_doors_are_said_to_be_too_few(results):
    calls = [effect for effect in results.training_effects() if effect.outcome == "callbacks"]
    assert training.says(calls, "callbacks").endswith("too few doors before or after any of 1 training to tell")
    assert training.cells(calls[0])[5] == "too few"


def test_the_owner_sheet_draws_the_warnings_and_the_training_sheet_the_trainings(pages: Pages):
    owner, trainer = pages["owner"], pages["training"]
    assert "From about March 2026 on, the whole firm&#39;s doors come back more often with draught" in owner
    assert "signal-1-wide-title" in owner
    assert "trained-out-share-wide-title" in trainer
    assert "tables/training_effects.csv" in trainer


def test_a_firm_in_its_first_week_is_told_what_is_missing(few_pages: Pages):
    assert "No training is on record" in few_pages["training"]
