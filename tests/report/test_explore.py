"""The linked sheet as a file: its drawings are valid, its size is bounded, its names cannot be told apart wrongly."""

import polars as pl
import pytest

from pipeline.report.charts.explore import columns_chart, rows_chart
from pipeline.report.explored import MOST_NAME, read_explored
from pipeline.report.reading import Results
from pipeline.report.sheet import TitleBlock, render
from pipeline.report.sheets.explore import FOLLOWS, explore_sheet
from pipeline.report.words import explore as words
from tests.report.invented import Frames, invented_tables, write_results
from tests.report.invented_explore import FAULTS, explored

MOST_BYTES = 3_000_000
MANY_FAULTS = (*FAULTS, "noise", "seal_fault", "bead_fault", "hinge_fault", "handle_fault", "other faults")


def page_of(folder, tables: Frames) -> str:
    folder.mkdir(exist_ok=True)
    with Results(write_results(folder / "results.duckdb", tables)) as results:
        return render(explore_sheet(results, results.firm(), TitleBlock("Firm", "30 June 2026", "")))


@pytest.mark.parametrize(
    "chart", [rows_chart("t", "true", False), rows_chart("t", "true", True), columns_chart("t", "true")]
)
def test_a_drawing_is_valid(chart):
    chart.to_dict()  # raises where it breaks the chart grammar


def test_every_drawing_has_its_words():
    for named in (words.TITLES, words.HOW, words.DO, words.COLUMNS):
        assert set(named) == set(FOLLOWS)


def test_as_many_of_all_as_a_page_may_hold_stay_below_three_megabytes(tmp_path):
    crews, products = (tuple(f"{name} {n}" for n in range(most)) for name, most in (("Crew", 60), ("Fold", 20)))
    # 64 doors in each crew, product and period: a million
    page = page_of(tmp_path, invented_tables() | explored(crews, products, MANY_FAULTS, doors=64))
    assert 2_000_000 < len(page.encode()) < MOST_BYTES


def test_without_a_callback_log_only_steps_are_drawn_and_no_fault_is_asked(tmp_path):
    tables = invented_tables()
    without = {name: tables[name].clear() for name in ("staged_callbacks", "intake_account", "explore_faults")}
    page = page_of(tmp_path, tables | without)
    assert 'id="steps"' in page
    assert 'id="crews"' not in page
    assert '<select id="fault"' not in page
    assert "no callback rate can be told" in page


def test_the_sheet_says_what_to_add_before_it_can_tell_anything_and_only_then(tmp_path):
    tables = invented_tables()
    assert "What to add" not in page_of(tmp_path / "firm", tables)
    few = {"explore_steps": tables["explore_steps"].head(1).with_columns(doors=7, doors_out=2)}
    short = {"explore_time": tables["explore_time"].head(1).with_columns(door_years=0.4)}
    short["explore_faults"] = tables["explore_faults"].clear()
    page = page_of(tmp_path / "few", tables | few | short)
    assert "the step recorded most often has 7 such doors" in page
    assert "one door-year together" in page
    nothing = {name: tables[name].clear() for name in ("explore_time", "explore_steps", "explore_faults")}
    page = page_of(tmp_path / "nothing", tables | nothing)
    assert "nothing to choose from" in page
    assert "has 0 such doors" in page


def test_without_a_callback_log_the_headline_offers_no_fault(tmp_path):
    tables = invented_tables()
    without = {name: tables[name].clear() for name in ("staged_callbacks", "intake_account", "explore_faults")}
    page = page_of(tmp_path, tables | without)
    assert words.STEPS_ALONE in page
    assert words.HEADLINE not in page


def test_doors_that_were_watched_and_never_called_have_a_sheet(tmp_path):
    tables = invented_tables()
    quiet = {"explore_faults": tables["explore_faults"].clear()}
    quiet["explore_time"] = tables["explore_time"].with_columns(callbacks=0)
    assert '"called":{"cells":[],"callbacks":[]}' in page_of(tmp_path, tables | quiet)


def test_names_are_in_natural_order_with_the_others_last_and_long_ones_are_cut(tmp_path):
    tables = invented_tables() | explored(("K10", "other crews", "K2", "x" * 200), ("B", "A"))
    with Results(write_results(tmp_path / "results.duckdb", tables)) as results:
        found = read_explored(results)
    shown = found.words("crew")
    assert [shown[0], shown[1], shown[3]] == ["K2", "K10", "other crews"]
    assert len(shown[2]) == MOST_NAME
    assert found.words("period")[0] == "before Q3 2023"
    assert found.period_words[-1] == ("Q2 2026", ("Q2", "2026 …"))
    assert words.pooled(found.pooled).endswith("so that the page stays small: 2 faults.")


def test_what_stands_together_is_told_in_the_same_order_whatever_that_of_the_rows(tmp_path):
    pooled = [("product", 1200), ("fault", 3), ("crew", 2)]
    rows = [
        {"dimension": dimension, "name": f"{dimension} {n}", "label": f"other {dimension}s", "size": 1.0}
        for dimension, how_many in pooled
        for n in range(how_many)
    ]
    tables = invented_tables() | {"explore_names": pl.DataFrame(rows)}
    with Results(write_results(tmp_path / "results.duckdb", tables)) as results:
        told = words.pooled(read_explored(results).pooled)
    assert told.endswith(": 2 crews, 3 faults and 1,200 products.")
