"""What the pages read: columns that models make, counts taken once, reasons that differ in a name only told once."""

from pathlib import Path

import polars as pl
import pytest

from pipeline.graph import standard_graph
from pipeline.report.reading import Results
from tests.report.invented import Frames, few_tables, invented_tables, write_results


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    with Results(write_results(tmp_path_factory.mktemp("read") / "results.duckdb", invented_tables())) as opened:
        yield opened


def opened_with(folder: Path, **replaced: pl.DataFrame) -> Results:
    return Results(write_results(folder / "results.duckdb", invented_tables() | replaced))


@pytest.mark.parametrize("tables", [invented_tables(), few_tables()], ids=["invented", "few"])
def test_the_invented_tables_have_no_column_that_no_model_makes(tables: Frames):
    graph = standard_graph()
    for name, frame in tables.items():
        if name in graph.models:
            made = {column.name for column in graph.models[name].header.columns}
            assert set(frame.columns) <= made, name


def test_the_firm_is_counted_once(results):
    firm = results.firm()
    assert (firm.doors, firm.crews, firm.callbacks, firm.run) == (1512, 10, 461, "2026-07-01T080000-1a2b3c")


def test_rows_come_in_the_order_of_the_work(results):
    for rows in (results.effects(), results.limits(), results.weak_steps(), results.recorded()):
        orders = [row.step_order for row in rows]
        assert orders == sorted(orders)


def test_the_firm_stands_before_its_crews_and_they_from_most_to_least_watched(results):
    rates = results.rates()
    assert rates[0].crew == "all"
    years = [rate.door_years for rate in rates[1:]]
    assert years == sorted(years, reverse=True)


def test_every_callback_is_of_one_kind(results):
    assert sum(tally.rows for tally in results.tally("kinds")) == 461
    assert sum(tally.rows for tally in results.tally("responsibilities")) == 461
    assert {tally.name for tally in results.tally("kinds")} == {
        "episode",
        "repeat",
        "pre_handover",
        "outside",
        "no door",
    }


def test_a_callback_with_several_faults_is_of_the_kind_that_counts_most(tmp_path):
    with opened_with(
        tmp_path,
        staged_callbacks=pl.DataFrame({"callback_id": ["C1", "C2"], "responsibility": ["unknown", "use"]}),
        episodes=pl.DataFrame(
            {"callback_id": ["C1", "C1", "C2"], "fault": ["a", "b", "a"], "kind": ["repeat", "episode", "outside"]}
        ),
    ) as results:
        assert {tally.name: tally.rows for tally in results.tally("kinds")} == {"episode": 1, "outside": 1}


def test_reasons_that_differ_in_what_they_quote_or_propose_are_one(tmp_path):
    reasons = [
        "'jam_face' is not one of the known measures; did you mean jamb_face?",
        "'hed_gap' is not one of the known measures; did you mean head_gap or side_gap?",
        "door D-00412 is set aside (installs 2023.csv, row 12)",
        "door D-9 is set aside (installs 2024.csv, row 7)",
        "this is not a number",
    ]
    aside = pl.DataFrame({"reason": reasons}).with_columns(
        file=pl.lit("readings.csv"), sheet=pl.lit(None, pl.String), row=pl.lit(2), value=pl.lit("x"),
        column=pl.lit("measure"), record=pl.lit("readings"), scope=pl.lit("row"),
    )  # fmt: skip
    with opened_with(tmp_path, set_aside=aside) as results:
        assert [(reason.place, reason.rows) for reason in results.reasons()] == [
            ("readings, measure", 2),
            ("readings, measure", 2),
            ("readings, measure", 1),
        ]
        assert len(results.set_aside()) == 5


def test_a_name_of_the_firms_own_catalogue_without_words_is_read_out(tmp_path):
    wordless = invented_tables()["catalogue_deviations"].with_columns(words=pl.lit(""))
    with opened_with(tmp_path, catalogue_deviations=wordless) as results:
        assert {effect.words for effect in results.effects() if effect.deviation == "sill_bow"} == {"sill bow"}
