"""Tables are built from the records, checked against their headers, and copied when nothing changed."""

from dataclasses import replace
from pathlib import Path

import duckdb
import polars as pl
import pytest

from pipeline.building.build import BuildInputs, BuildReport, build_results
from pipeline.errors import UserError
from pipeline.model_files import ModelError
from pipeline.progress import Silence
from pipeline.warehouse import open_results
from tests.building.conftest import graph_of


def build(folder: Path, inputs: BuildInputs, target: Path) -> BuildReport:
    graph = graph_of(folder)
    return build_results(inputs, target, Silence(), graph)


def rebuilt(report: BuildReport) -> list[str]:
    return sorted(table.table for table in report.tables if table.is_rebuilt)


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_every_table_is_built_and_views_are_not_kept(small_models, inputs, tmp_path):
    report = build(small_models, inputs, tmp_path / "results.duckdb")
    assert rebuilt(report) == ["crew_sizes", "doors"]
    with open_results(tmp_path / "results.duckdb") as results:
        names = [row[0] for row in results.execute("SHOW TABLES").fetchall()]
        assert names == ["build_log", "crew_sizes", "door_prints", "doors", "runs", "settings"]
        rows = results.execute("FROM crew_sizes ORDER BY crew").fetchall()
    assert rows == [("A", 2, 1, "Example Doors"), ("B", 1, 0, "Example Doors")]


def test_the_one_file_holds_everything(small_models, inputs, tmp_path):
    (tmp_path / "aside").mkdir()
    build(small_models, inputs, tmp_path / "aside/results.duckdb")
    assert [path.name for path in (tmp_path / "aside").iterdir() if path.is_file()] == ["results.duckdb"]


def test_nothing_is_rebuilt_when_nothing_changed(small_models, inputs, tmp_path):
    first = build(small_models, inputs, tmp_path / "first.duckdb")
    again = build(small_models, replace(inputs, previous=tmp_path / "first.duckdb"), tmp_path / "again.duckdb")
    assert rebuilt(again) == []
    assert [table.rows for table in again.tables] == [table.rows for table in first.tables]
    with duckdb.connect(tmp_path / "again.duckdb") as results:
        assert results.execute("SELECT count(*) FROM doors").fetchall() == [(3,)]


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ("firm", ["crew_sizes"]),
        ("labour_rate", []),
        ("view", ["crew_sizes"]),
        ("table", ["crew_sizes", "doors"]),
        ("python", ["crew_sizes"]),
        ("readings", ["crew_sizes"]),
        ("installs", ["crew_sizes", "doors"]),
        ("callbacks", []),
    ],
)
def test_only_what_a_change_reaches_is_rebuilt(small_models, inputs, tmp_path, changed, expected):
    build(small_models, inputs, tmp_path / "first.duckdb")
    sources = dict(inputs.sources)
    if changed == "firm":
        sources["settings"] = sources["settings"].with_columns(firm=pl.lit("Other Doors"))
    elif changed == "labour_rate":
        sources["settings"] = sources["settings"].with_columns(labour_rate=pl.lit(40.0))
    elif changed == "view":
        edit(small_models / "staging/seen_doors.sql", "from readings", "from readings where value > 1")
    elif changed == "table":
        edit(small_models / "staging/doors.sql", "1e6", "1e4")
    elif changed == "python":
        edit(small_models / "marts/crew_sizes.py", "Counts", "Adds up")
    else:
        with duckdb.connect(inputs.records) as records:
            crew = ", 'B' AS crew" if changed == "installs" else ""
            records.execute(f"INSERT INTO {changed}_history BY NAME SELECT 'D9' AS install_id{crew}")
    new = BuildInputs(inputs.records, sources, tmp_path / "first.duckdb")
    assert rebuilt(build(small_models, new, tmp_path / "again.duckdb")) == expected


def test_a_table_stays_when_what_it_takes_from_a_new_input_came_out_the_same(small_models, inputs, tmp_path):
    build(small_models, inputs, tmp_path / "first.duckdb")
    edit(small_models / "staging/doors.sql", "1e6", "1000000.0")
    again = build(small_models, replace(inputs, previous=tmp_path / "first.duckdb"), tmp_path / "again.duckdb")
    assert rebuilt(again) == ["doors"]
    third = build(small_models, replace(inputs, previous=tmp_path / "again.duckdb"), tmp_path / "third.duckdb")
    assert rebuilt(third) == []


def test_a_sql_table_stays_when_only_columns_that_it_does_not_name_changed(small_models, inputs, tmp_path):
    header = "-- crews_seen: x.\n-- grain: x\n-- key: crew\n-- columns:\n--   crew  text  x\n"
    select = "select crew from doors join seen_doors using (install_id) group by crew"
    (small_models / "marts/crews_seen.sql").write_text(header + select, encoding="utf-8")
    build(small_models, inputs, tmp_path / "first.duckdb")
    edit(small_models / "staging/doors.sql", "1e6", "1e4")
    again = build(small_models, replace(inputs, previous=tmp_path / "first.duckdb"), tmp_path / "again.duckdb")
    assert rebuilt(again) == ["crew_sizes", "doors"]
    with duckdb.connect(inputs.records) as records:
        records.execute("UPDATE installs_history SET crew = 'C' WHERE install_id = 'D1'")
    third = build(small_models, replace(inputs, previous=tmp_path / "again.duckdb"), tmp_path / "third.duckdb")
    assert rebuilt(third) == ["crew_sizes", "crews_seen", "doors"]


def test_only_the_asked_tables_and_what_they_read_are_built(small_models, inputs, tmp_path):
    report = build(small_models, replace(inputs, only=("doors",)), tmp_path / "results.duckdb")
    assert [table.table for table in report.tables] == ["doors"]


def test_a_damaged_last_result_only_means_building_all(small_models, inputs, tmp_path):
    (tmp_path / "first.duckdb").write_bytes(b"not a database at all" * 300)
    report = build(small_models, replace(inputs, previous=tmp_path / "first.duckdb"), tmp_path / "again.duckdb")
    assert rebuilt(report) == ["crew_sizes", "doors"]


def test_a_key_that_repeats_is_named_with_an_example(small_models, inputs, tmp_path):
    edit(small_models / "staging/doors.sql", "from installs", "from installs union all select 'D2', 'B', 1.0")
    with pytest.raises(ModelError, match=r"staging/doors\.sql: the key .* 2 rows have install_id = 'D2'"):
        build(small_models, inputs, tmp_path / "results.duckdb")


def test_a_key_that_is_empty_is_named(small_models, inputs, tmp_path):
    edit(small_models / "staging/doors.sql", "select install_id,", "select nullif(install_id, 'D3') as install_id,")
    with pytest.raises(ModelError, match="install_id = None"):
        build(small_models, inputs, tmp_path / "results.duckdb")


@pytest.mark.parametrize("model", ["staging/doors.sql", "marts/crew_sizes.py"])
def test_columns_that_are_not_those_of_the_header_are_named(small_models, inputs, tmp_path, model):
    edit(small_models / model, "crew   ", "gang   ")
    if model.endswith(".py"):
        edit(small_models / model, "key: crew", "key: gang")
    with pytest.raises(ModelError, match=r"not built: \['gang'\]; built but not in it: \['crew'\]"):
        build(small_models, inputs, tmp_path / "results.duckdb")


def test_a_model_that_breaks_is_named_and_its_cause_kept(small_models, inputs, tmp_path):
    edit(small_models / "marts/crew_sizes.py", '["firm"]', '["frim"]')
    with pytest.raises(ModelError, match=r"marts/crew_sizes\.py failed: ColumnNotFoundError") as caught:
        build(small_models, inputs, tmp_path / "results.duckdb")
    assert caught.value.__cause__ is not None


def test_too_little_memory_is_one_sentence(small_models, inputs, tmp_path, monkeypatch):
    monkeypatch.setenv("FITBACK_MEMORY", "a lot")
    with pytest.raises(UserError, match="FITBACK_MEMORY is 'a lot'; write an amount such as 600MB"):
        build(small_models, inputs, tmp_path / "results.duckdb")
