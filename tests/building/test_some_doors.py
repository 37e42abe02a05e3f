"""Tables made anew for the changed doors only come out as if they were made whole."""

import random
import shutil
from pathlib import Path

import duckdb
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from pipeline.building.build import BuildInputs, BuildReport, build_results
from pipeline.building.table_making import DOOR
from pipeline.demo.simulate import simulate
from pipeline.demo.write import write_firm
from pipeline.graph import standard_graph
from pipeline.ingest.take import take_in
from pipeline.progress import Silence
from pipeline.run import RECORDS, source_tables
from pipeline.settings import load_settings

Firm = tuple[Path, Path, Path]  # folder, output folder, results
OWN_TO_A_RUN = {"build_log", "runs", "run_changes", "intake_account"}


def build(folder: Path, out: Path, name: str, previous: Path | None = None) -> tuple[Path, BuildReport]:
    settings, catalogue = load_settings(folder)
    intake = take_in(folder, out, settings, catalogue, Silence())
    inputs = BuildInputs(out / RECORDS, source_tables(settings, catalogue, intake), previous)
    return out / name, build_results(inputs, out / name, Silence())


def tables(path: Path) -> dict[str, pl.DataFrame]:
    with duckdb.connect(path, read_only=True) as results:
        names = [row[0] for row in results.execute("SHOW TABLES").fetchall()]
        return {name: results.sql(f'FROM "{name}" ORDER BY ALL').pl() for name in names}


def edited(path: Path, edit) -> None:
    frame = pl.read_csv(path, infer_schema=False)
    edit(frame).write_csv(path)


def some(frame: pl.DataFrame, draw: random.Random, n: int = 3) -> list[str]:
    return draw.sample(sorted(set(frame[DOOR].drop_nulls())), n)


def readings_corrected(folder: Path, draw: random.Random) -> None:
    def edit(frame):
        chosen = pl.col(DOOR).is_in(some(frame, draw))
        value = pl.when(chosen & pl.col("measure").is_in(["sill_height", "jamb_face"])).then(pl.lit("9.5"))
        return frame.with_columns(value.otherwise(pl.col("value")).alias("value"))

    edited(folder / "readings.csv", edit)


def readings_withdrawn(folder: Path, draw: random.Random) -> None:
    edited(folder / "readings.csv", lambda frame: frame.filter(~pl.col(DOOR).is_in(some(frame, draw))))


def doors_added(folder: Path, draw: random.Random) -> None:
    chosen: list[str] = []

    def grown(frame):
        chosen[:] = chosen or some(frame, draw)
        new = frame.filter(pl.col(DOOR).is_in(chosen)).with_columns(pl.col(DOOR) + "-new")
        return pl.concat([frame, new])

    for name in ("installs", "readings", "checks"):
        edited(folder / f"{name}.csv", grown)


def widths_corrected(folder: Path, draw: random.Random) -> None:
    def edit(frame):
        chosen = pl.col(DOOR).is_in(some(frame, draw))
        return frame.with_columns(pl.when(chosen).then(pl.lit("2345")).otherwise("width_mm").alias("width_mm"))

    edited(folder / "installs.csv", edit)


def callbacks_withdrawn(folder: Path, draw: random.Random) -> None:
    edited(folder / "callbacks.csv", lambda frame: frame.sample(frame.height - 5, seed=draw.randrange(99)))


def checks_turned(folder: Path, draw: random.Random) -> None:
    def edit(frame):
        chosen = pl.col(DOOR).is_in(some(frame, draw))
        return frame.with_columns(pl.when(chosen).then(pl.lit("fail")).otherwise("outcome").alias("outcome"))

    edited(folder / "checks.csv", edit)


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Firm:
    """A small firm with its results."""
    place = tmp_path_factory.mktemp("firm")
    write_firm(simulate(doors=60, crews=3, seed=1), place / "firm")
    (place / "out").mkdir()
    before, _ = build(place / "firm", place / "out", "before.duckdb")
    return place / "firm", place / "out", before


@pytest.fixture
def firm(built: Firm, tmp_path: Path) -> Firm:
    """A copy of it to change."""
    for folder in built[:2]:
        shutil.copytree(folder, tmp_path / folder.name)
    return tmp_path / "firm", tmp_path / "out", tmp_path / "out" / "before.duckdb"


@pytest.mark.parametrize(
    ("change", "is_of_some"),
    [
        (readings_corrected, True),
        (readings_withdrawn, True),
        (doors_added, True),
        (widths_corrected, True),
        (callbacks_withdrawn, False),
        (checks_turned, True),
    ],
)
def test_a_change_of_some_doors_gives_the_tables_of_a_whole_build(firm, change, is_of_some):
    folder, out, before = firm
    change(folder, random.Random(1))
    partly, report = build(folder, out, "partly.duckdb", before)
    whole, _ = build(folder, out, "whole.duckdb")
    found, wanted = tables(partly), tables(whole)
    assert found.keys() == wanted.keys()
    for name in found.keys() - OWN_TO_A_RUN:
        assert_frame_equal(found[name], wanted[name], rel_tol=1e-9, abs_tol=1e-12)
    assert any(table.doors for table in report.tables) == is_of_some


def test_readings_withdrawn_of_three_doors_touch_three_doors(firm):
    folder, out, before = firm
    readings_withdrawn(folder, random.Random(3))
    _, report = build(folder, out, "after.duckdb", before)
    doors = {table.table: table.doors for table in report.tables if table.is_rebuilt}
    assert doors["reading_fits"] == 3
    assert "staged_installs" not in doors


def test_every_door_by_door_model_reads_door_by_door_or_no_doors():
    """A view between must be door by door itself, or the doors that it changes could not be told."""
    graph = standard_graph()
    chosen = [model for model in graph.models.values() if model.header.door_by_door]
    assert chosen
    for model in chosen:
        views = [read for read in model.reads if read in graph.models and graph.models[read].header.is_view]
        assert all(graph.models[read].header.door_by_door for read in views), model.where


def test_a_table_is_made_whole_where_many_doors_changed(firm):
    folder, out, before = firm
    edited(folder / "readings.csv", lambda frame: frame.with_columns(value=pl.lit("7")))
    _, report = build(folder, out, "after.duckdb", before)
    assert [table.doors for table in report.tables if table.table == "reading_fits"] == [None]


def test_results_of_an_older_build_log_are_built_whole(firm):
    folder, out, before = firm
    with duckdb.connect(before) as results:
        results.execute("ALTER TABLE build_log DROP COLUMN rules")
    _, report = build(folder, out, "after.duckdb", before)
    assert all(table.is_rebuilt for table in report.tables if table.rows is not None)
