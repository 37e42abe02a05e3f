"""The data dictionary is what the models' headers say, and `fitback tables` and the sheet of tables tell all of it."""

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pipeline import folders
from pipeline.cli import app
from pipeline.dictionary import BETWEEN, KINDS, RESULT, SOURCES, dictionary, tables_with
from pipeline.export import PUBLISHED
from pipeline.graph import CATALOGUE_SOURCES, RECORD_SOURCES, standard_graph

ROOT = Path(__file__).parents[1]


def told(*words: str) -> str:
    result = CliRunner().invoke(app, ["tables", *words])
    assert result.exit_code == 0, result.stderr
    return result.stdout


@pytest.fixture(autouse=True)
def _nothing_here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def test_it_holds_every_table_once_with_what_its_file_promises():
    graph, entries = standard_graph(), dictionary()
    assert set(entries) == {*graph.models, *RECORD_SOURCES, *CATALOGUE_SOURCES}
    for name, model in graph.models.items():
        entry = entries[name]
        assert entry.columns == model.header.columns
        assert entry.key == model.header.key
        assert entry.made_of == model.reads
        assert entry.made_by.endswith(f"{model.layer}/{model.path.name}")
        assert (ROOT / entry.made_by).is_file()
        assert entry.kind == (RESULT if name in PUBLISHED else BETWEEN)
        assert set(entry.read_by) == {other for other, reader in graph.models.items() if name in reader.reads}
    assert set(SOURCES) == {*RECORD_SOURCES, *CATALOGUE_SOURCES}


def test_the_records_at_the_end_of_the_line_are_those_that_the_tables_in_between_read():
    entries = dictionary()
    assert entries["outlook"].from_records == ("installs", "callbacks")
    assert "training" in entries["training_effects"].from_records
    assert "training" not in entries["effects"].from_records
    assert len(entries["set_aside"].from_records) == 7  # any record may have rows set aside


def test_a_column_leads_to_its_tables():
    assert tables_with("fair_ratio", dictionary().values()) == ["callback_rates"]


def test_the_list_has_a_line_for_each_result_before_any_run_and_all_of_them_when_asked():
    lines = told().splitlines()
    shown = [line.split()[0] for line in lines if line.startswith("  ")]
    assert shown == [name for name in PUBLISHED if name in dictionary()]
    assert all(re.match(r"  \w+ +\S+ \S+", line) for line in lines if line.startswith("  "))
    everything = told("--all")
    assert all(re.search(rf"^  {name} ", everything, re.MULTILINE) for name in dictionary())
    assert all(kind.split(":")[0] in everything for kind in KINDS.values())


@pytest.mark.parametrize("name", ["effects", "door_time", "installs", "settings", "callback_days"])
def test_one_table_tells_its_columns_key_and_what_it_is_made_of(name):
    entry, said = dictionary()[name], told(name)
    assert said.startswith(f"{name}: ")
    assert entry.grain in said
    for column in entry.columns:
        assert re.search(rf"^  {column.name} +{re.escape(column.type)}", said, re.MULTILINE)
    assert all(other in said for other in (*entry.key, *entry.made_of, *entry.read_by))


def test_rows_are_counted_where_there_are_results(tmp_path, monkeypatch):
    from tests.report.invented import invented_tables, write_results

    (tmp_path / "doors-fitback").mkdir()
    write_results(tmp_path / "doors-fitback" / folders.RESULTS, invented_tables())
    assert re.search(r"  callback_rates +11  ", told())
    assert "; 11 in doors-fitback" in told("callback_rates")
    assert "; 11 in doors-fitback" in told("callback_rates", "--out", "doors-fitback")
    (tmp_path / "empty").mkdir()
    result = CliRunner().invoke(app, ["tables", "--out", "empty"])
    assert (result.exit_code, result.stderr) == (2, "empty holds no results; make them with fitback run first.\n")
