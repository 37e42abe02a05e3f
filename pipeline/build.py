"""Builds every table of the results into a new database; copies from the last results what did not change.

Takes the records, settings and catalogue; writes one file and nothing else. Never publishes.
"""

import json
import time
from dataclasses import astuple, dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.changed_doors import ChangedDoors
from pipeline.changes import Changes
from pipeline.door_prints import write_door_prints
from pipeline.errors import UserError
from pipeline.evaluation import Evaluator
from pipeline.fingerprints import Fingerprint, catalogue_hash, fingerprints, records_read
from pipeline.graph import Graph, standard_graph
from pipeline.model_files import ModelError
from pipeline.progress import Progress
from pipeline.run_changes import COMPARED, write_run_changes
from pipeline.table_making import make_for_doors, make_table, quoted
from pipeline.warehouse import VIEWS_AND_RESULTS, attach, open_for_build

if TYPE_CHECKING:
    import duckdb
    import polars as pl

ACCOUNT = "intake_account"

# Doors in one slice of a table made in slices: a hundred readings each make two million rows, which fit the memory.
SLICE_ROWS = 20_000


@dataclass(frozen=True)
class BuildInputs:
    """What a build reads.

    records   records.duckdb
    sources   settings and catalogue by table name; they become tables of the results
    previous  the last results, from which unchanged tables are copied; None builds all
    run_id    name of the run, kept in the table `runs`
    only      where given, the tables to build, with what they read
    """

    records: Path
    sources: dict[str, "pl.DataFrame"]
    previous: Path | None = None
    run_id: str = ""
    only: tuple[str, ...] = ()


@dataclass(frozen=True)
class BuiltTable:
    """One line of the build log; rules, own and whole as in `Fingerprint`. A view is never kept: it has no rows.

    doors  of a table that was made anew for some doors only: how many
    """

    table: str
    rules: str
    own: str
    whole: str
    rows: int | None
    seconds: float
    is_rebuilt: bool
    doors: int | None = None


@dataclass(frozen=True)
class BuildReport:
    """What was built, in build order, views included."""

    tables: tuple[BuiltTable, ...]

    @property
    def n_tables(self) -> int:
        """How many tables the results hold."""
        return sum(table.rows is not None for table in self.tables)

    @property
    def sentence(self) -> str:
        """What the build did. The account is of the run itself: a file once taken in is `unchanged` the next time."""
        anew = {table.table for table in self.tables if table.is_rebuilt}
        if anew <= {ACCOUNT}:
            return f"Nothing changed; all {self.n_tables} tables are as they were."
        return f"Built {self.n_tables} tables, {len(anew)} of them anew."


def build_results(inputs: BuildInputs, target: Path, progress: Progress, graph: Graph | None = None) -> BuildReport:
    """Builds the tables of the graph into the new file `target`, with settings, catalogue, `build_log`, `runs` and,
    where all is there that it compares, `run_changes`.

    Raises ModelError naming the model that failed, whatever the cause.
    """
    graph = graph or standard_graph()
    connection = open_for_build(inputs.records, target, target.parent / "spill")
    try:
        for name, frame in inputs.sources.items():
            write_frame(connection, name, frame)
        builder = _Builder(connection, graph, inputs)
        order = _build_order(graph, inputs.only)
        for number, name in enumerate(order):
            progress.at(f"Building {name}", number, len(order))
            builder.add(name)
        report = BuildReport(tuple(builder.log))
        write_frame(connection, "build_log", _log_frame(report))
        write_frame(connection, "runs", _run_frame(inputs, builder.records_state))
        if set(order) >= COMPARED:
            write_run_changes(connection, builder.has_previous)
        connection.execute("CHECKPOINT results")  # so that the one file holds everything
    finally:
        connection.close()
    return report


def _build_order(graph: Graph, only: tuple[str, ...]) -> list[str]:
    wanted = set(only).union(*(graph.upstream(name) for name in only))
    return [name for name in graph.models if not only or name in wanted]


def write_frame(connection: "duckdb.DuckDBPyConnection", name: str, frame: "pl.DataFrame") -> None:
    """Writes a frame as a table of the results."""
    connection.register("written_frame", frame)
    connection.execute(f"CREATE TABLE results.main.{quoted(name)} AS FROM written_frame")
    connection.unregister("written_frame")


class _Builder:
    """Makes or copies one table after another on one connection."""

    def __init__(self, connection: "duckdb.DuckDBPyConnection", graph: Graph, inputs: BuildInputs) -> None:
        self.log: list[BuiltTable] = []
        self._connection = connection
        self._graph = graph
        records = write_door_prints(connection, records_read(graph, inputs.sources))
        prints = fingerprints(graph, inputs.sources, records)
        self.records_state = prints.records_state
        before = _attach_previous(connection, inputs.previous)
        self.has_previous = bool(before)
        self._changes = Changes(connection, graph, prints.models, before)
        self._changed_doors = ChangedDoors(connection, graph, self._changes)

    def add(self, table: str) -> None:
        """Makes the table, or copies it from the last results where that is what would be made."""
        started = time.perf_counter()
        is_view = self._graph.models[table].header.is_view
        is_rebuilt = not is_view and self._changes.must_rebuild(table)
        doors = self._changed_doors.of(table) if is_rebuilt else None
        if is_view or is_rebuilt:
            self._make(table, "memory" if is_view else "results", doors)
        else:
            name = quoted(table)
            self._connection.execute(f"CREATE TABLE results.main.{name} AS FROM previous.main.{name}")
        rows = None if is_view else _count(self._connection, f"results.main.{quoted(table)}")
        prints = self._changes.now[table]
        seconds = time.perf_counter() - started
        n_doors = None if doors is None else _count(self._connection, doors)
        self.log.append(BuiltTable(table, prints.rules, prints.own, prints.whole, rows, seconds, is_rebuilt, n_doors))

    def _make(self, table: str, place: str, doors: str | None) -> None:
        """Makes the table; anew for some doors only where a table of those is named."""
        evaluate = Evaluator(self._connection, self._graph, VIEWS_AND_RESULTS, may_read=self._graph.upstream(table))
        try:
            if doors is not None:
                make_for_doors(self._connection, self._graph, table, doors, SLICE_ROWS)
                return
            make_table(self._connection, self._graph, table, place, evaluate, SLICE_ROWS)
        except (ModelError, UserError, OSError):
            raise
        except Exception as error:
            raise ModelError(f"{self._graph.models[table].where} failed: {type(error).__name__}") from error


def _attach_previous(connection: "duckdb.DuckDBPyConnection", previous: Path | None) -> dict[str, Fingerprint]:
    """Fingerprints of the last results by table; none where there are none, or none that can be read."""
    import duckdb

    if previous is None or not previous.is_file():
        return {}
    try:
        attach(connection, previous, "previous")
        rows = connection.execute('SELECT "table", rules, own, whole FROM previous.main.build_log').fetchall()
    except duckdb.Error:  # a damaged or foreign file: everything is derived, so everything can be built
        return {}
    return {table: Fingerprint(*prints) for table, *prints in rows}


def _count(connection: "duckdb.DuckDBPyConnection", table: str) -> int:
    return int(connection.execute(f"SELECT count(*) FROM {table}").fetchall()[0][0])


def _log_frame(report: BuildReport) -> "pl.DataFrame":
    import polars as pl

    columns = {
        "table": pl.String, "rules": pl.String, "own": pl.String, "whole": pl.String, "rows": pl.Int64,
        "seconds": pl.Float64, "is_rebuilt": pl.Boolean, "doors": pl.Int64,
    }  # fmt: skip
    return pl.DataFrame([astuple(row) for row in report.tables], schema=columns, orient="row")


def _run_frame(inputs: BuildInputs, records_state: str) -> "pl.DataFrame":
    """One row: which run made these results, by which fitback, from which settings, catalogue and records."""
    import polars as pl

    settings = inputs.sources["settings"].row(0, named=True)
    row = {
        "run_id": inputs.run_id,
        "finished_at": datetime.now(UTC).replace(tzinfo=None, microsecond=0),
        "fitback_version": version("fitback"),
        "catalogue_hash": catalogue_hash(inputs.sources),
        "settings": json.dumps(settings, default=str),
        "as_of": settings["as_of"],
        "seed": settings["seed"],
        "records_state": records_state,
    }
    return pl.DataFrame([row], schema_overrides={"as_of": pl.Date, "seed": pl.Int64})
