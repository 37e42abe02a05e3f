"""`run_model`, the fixture that evaluates one model over small tables drawn as text."""

import json
import os
from collections.abc import Callable, Iterator
from datetime import date
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
import pytest
import vl_convert
from hypothesis import settings

from pipeline.building.evaluation import Evaluator
from pipeline.building.table_making import quoted
from pipeline.catalogue import load_catalogue
from pipeline.catalogue.tables import catalogue_tables
from pipeline.graph import CATALOGUE_SOURCES, RECORD_SOURCES, Graph, make_graph
from pipeline.ingest.history.store import rows_columns
from pipeline.ingest.records import RECORDS
from pipeline.model_files import PYTHON_FOLDER, SQL_FOLDER, Model, model_paths, read_model
from pipeline.settings import Settings, settings_table

# The same examples on every run there: a change is judged by what it changed, not by what was drawn that day.
settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("ci")

# Files that take longest, longest first: begun last, one of them would keep one worker busy while the others wait.
BEGUN_FIRST = (
    "tests/test_known_truth.py",
    "tests/hardness/test_disturbed.py",
    "tests/hardness/test_spoilt.py",
    "tests/calibration/test_study.py",
    "tests/models/test_record_credibility.py",
    "tests/ingest/matching/test_unseen.py",
    "tests/models/test_dose_response.py",
    "tests/test_forget.py",
    "tests/test_run.py",
    "tests/test_wheel.py",
    "tests/test_cli.py",
    "tests/calibration/test_in_memory.py",
    "tests/ingest/test_json_lines.py",
    "tests/ingest/matching/test_round_trip.py",
)

Types = dict[str, str]
Default = pl.DataFrame | Types

RECORD_COLUMNS: dict[str, Types] = {record.name: dict(rows_columns(record)) for record in RECORDS}
RECORD_COLUMNS["files"] = {
    **dict.fromkeys(("record", "file", "status", "reason"), "VARCHAR"),
    **dict.fromkeys(("rows_read", "rows_taken_in", "rows_set_aside", "rows_repeated"), "BIGINT"),
}
RECORD_COLUMNS["unread_headings"] = dict.fromkeys(("file", "sheet", "heading", "state", "reason"), "VARCHAR") | {
    "cells": "BIGINT"
}
RECORD_COLUMNS["rejections"] = {
    **dict.fromkeys(("file", "sheet", "column", "value", "reason", "record", "scope"), "VARCHAR"),
    "row": "INTEGER",
}
RECORD_COLUMNS["correction_ledger"] = {
    "correction": "INTEGER", "corrected_at": "TIMESTAMP", "superseded_at": "TIMESTAMP", "row": "INTEGER",
    **dict.fromkeys(("who", "record", "file", "sheet", "heading", "column", "before", "after"), "VARCHAR"),
    "is_laid": "BOOLEAN", "superseded_by": "VARCHAR",
}  # fmt: skip
RECORD_COLUMNS["note_codes"] = {"callback_id": "VARCHAR", "fault": "VARCHAR", "confidence": "DOUBLE"}
RECORD_COLUMNS["note_responsibility"] = {
    "callback_id": "VARCHAR", "responsibility": "VARCHAR", "confidence": "DOUBLE",
}  # fmt: skip
RECORD_COLUMNS["job_numbers"] = {"job_no": "VARCHAR", "job_key": "VARCHAR"}
RECORD_COLUMNS["callback_matches"] = {
    **dict.fromkeys(("callback_id", "install_id", "site"), "VARCHAR"), "probability": "DOUBLE",
    "site_doors": "INTEGER", "site_probability": "DOUBLE", "is_reviewed": "BOOLEAN",
}  # fmt: skip
RECORD_COLUMNS["link_candidates"] = {
    **dict.fromkeys(("callback_id", "install_id", "site", "why"), "VARCHAR"), "probability": "DOUBLE",
    "site_probability": "DOUBLE", "site_doors": "INTEGER",
}  # fmt: skip
DEFAULT_SETTINGS = settings_table(Settings(firm="Example Doors", currency="EUR"), date(2025, 12, 31))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Puts the longest files first; workers take whole files in this order (`--no-loadscope-reorder`)."""
    turn = {name: place for place, name in enumerate(BEGUN_FIRST)}
    items.sort(key=lambda item: turn.get(item.nodeid.split("::")[0], len(turn)))  # a stable sort: all else stays


class Rows(list[tuple[Any, ...]]):
    """The rows of a table as tuples, in the order of its key; equal to a plain list of the same tuples.

    columns  the names of the columns, in the order of the header
    frame    the same rows as a polars frame
    """

    def __init__(self, frame: pl.DataFrame) -> None:
        super().__init__(frame.rows())
        self.frame = frame
        self.columns = frame.columns

    def pick(self, *columns: str) -> list[Any]:
        """Some columns only: tuples, or bare values where one column is asked for."""
        rows = self.frame.select(columns).rows()
        return [row[0] for row in rows] if len(columns) == 1 else rows


def evaluate_over(graph: Graph, table: str, given: dict[str, str | pl.DataFrame]) -> Rows:
    """`table` made from the given small tables; tables that are not given stand empty, or are made from the given.

    Models between a given table and the wanted one are made as in a run, so a chain can be tested as well as one
    file. Settings and catalogue that are not given stand at their defaults.
    """
    with duckdb.connect(":memory:") as connection:
        connection.execute("ATTACH ':memory:' AS results")
        defaults = _defaults(graph)
        for name, default in defaults.items():
            _create_default(connection, name, default)
        replaced = {name: _filled(name, rows, defaults[name]) for name, rows in given.items()}
        return Rows(Evaluator(connection, graph).evaluate(table, **replaced))


def write_records(path: Path, frames: dict[str, pl.DataFrame]) -> Path:
    """A records.duckdb that holds these rows (columns left out are null), without taking files in."""
    with duckdb.connect(path) as connection:
        for name, columns in RECORD_COLUMNS.items():
            typed = ", ".join(f"{quoted(column)} {kind}" for column, kind in columns.items())
            connection.execute(f"CREATE TABLE {name}_history ({typed})")
            connection.execute(f"CREATE VIEW {name} AS FROM {name}_history")
        for name, frame in frames.items():
            connection.register("given_rows", frame)
            connection.execute(f"INSERT INTO {name}_history BY NAME FROM given_rows")
            connection.unregister("given_rows")
    return path


def rows_of(folders: tuple[Path, Path], table: str, given: dict[str, str | pl.DataFrame]) -> Rows:
    """What `run_model` gives, for models in any two folders."""
    graph = graph_of(table, model_paths(*folders))
    unread = set(given) - graph.upstream(table) - {table}
    assert not unread, f"{table} does not read {sorted(unread)}"
    return evaluate_over(graph, table, given)


def graph_of(table: str, paths: dict[str, Path]) -> Graph:
    """The part of the graph that `table` is made from: other files are not even read."""
    models: dict[str, Model] = {}
    waiting = [table]
    while waiting:
        name = waiting.pop()
        if name in paths and name not in models:
            models[name] = read_model(paths[name])
            waiting.extend(models[name].reads)
    return make_graph(models, (*RECORD_SOURCES, *CATALOGUE_SOURCES))


def text_frame(text: str) -> pl.DataFrame:
    """A table drawn with pipes: a line of column names, then one line a row; an empty cell is null.

    Every column is text; the table that the rows stand for gives them their types.
    """
    lines = [[cell.strip() for cell in line.split("|")] for line in text.strip().splitlines() if line.strip()]
    for line in lines:
        assert len(line) == len(lines[0]), f"{len(lines[0])} columns are named, {len(line)} cells stand in {line}"
    cells = [[cell or None for cell in line] for line in lines[1:]]
    return pl.DataFrame(cells, schema=dict.fromkeys(lines[0], pl.String), orient="row")


def _defaults(graph: Graph) -> dict[str, Default]:
    tables: dict[str, Default] = {name: RECORD_COLUMNS[name] for name in RECORD_COLUMNS}
    tables.update(_catalogue())
    tables["settings"] = DEFAULT_SETTINGS
    for name, model in graph.models.items():
        tables[name] = {column.name: column.duckdb_type for column in model.header.columns}
    return tables


@cache
def _catalogue() -> dict[str, pl.DataFrame]:
    return catalogue_tables(load_catalogue({}))


def _create_default(connection: duckdb.DuckDBPyConnection, name: str, default: Default) -> None:
    if isinstance(default, pl.DataFrame):
        connection.register("default_rows", default)
        connection.execute(f"CREATE TABLE results.main.{quoted(name)} AS FROM default_rows")
        connection.unregister("default_rows")
    else:
        columns = ", ".join(f"{quoted(column)} {kind}" for column, kind in default.items())
        connection.execute(f"CREATE TABLE results.main.{quoted(name)} ({columns})")


def _filled(name: str, rows: str | pl.DataFrame, default: Default) -> pl.DataFrame:
    """The given rows with the table's other columns: the default's value for settings, null elsewhere."""
    frame = rows if isinstance(rows, pl.DataFrame) else text_frame(rows)
    known = default.columns if isinstance(default, pl.DataFrame) else list(default)
    unknown = set(frame.columns) - set(known)
    assert not unknown, f"{name} has no column {sorted(unknown)}; it has {known}"
    fill = default.row(0, named=True) if isinstance(default, pl.DataFrame) and name == "settings" else {}
    missing = [pl.lit(fill.get(column)).alias(column) for column in known if column not in frame.columns]
    return frame.with_columns(missing)


@pytest.fixture(scope="session")
def settings_row() -> pl.DataFrame:
    """The source table `settings` of an example firm."""
    return DEFAULT_SETTINGS


@pytest.fixture
def model_folders() -> tuple[Path, Path]:
    """Where the SQL and the Python models lie; a test may put its own in their place."""
    return SQL_FOLDER, PYTHON_FOLDER


@pytest.fixture
def run_model(model_folders: tuple[Path, Path]) -> Callable[..., Rows]:
    """Evaluates one table from small ones given as pipe-drawn text (or polars frames), by table name.

    `run_model("door_time", staged_installs='''install_id | fitted_on ...''')` returns the rows as tuples, in the
    order of the key; `.pick("install_id", "door_years")` takes some columns, `.frame` is the polars frame. Columns
    left out of a given table are null (settings: the default); tables left out are empty, unless they lie between
    a given table and the wanted one: then they are made. Settings and catalogue stand at their defaults.
    """

    return lambda table, **given: rows_of(model_folders, table, given)


@pytest.fixture(scope="session")
def drawings_kept() -> Iterator[None]:
    """Draws a chart once: who makes one firm's pages again and again spends most of the time on the same charts."""
    draw = vl_convert.vegalite_to_svg

    @lru_cache(maxsize=1000)
    def kept(chart: str) -> str:
        return draw(json.loads(chart))

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(vl_convert, "vegalite_to_svg", lambda chart: kept(json.dumps(chart)))
        yield
