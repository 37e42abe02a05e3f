"""Builds every table of the results into a new database; copies from the last results what did not change.

Takes the records, settings and catalogue; writes one file and nothing else. Never publishes.
"""

import json
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import astuple, dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.building.changed_doors import ChangedDoors
from pipeline.building.changes import Changes
from pipeline.building.door_prints import write_door_prints
from pipeline.building.evaluation import Evaluator
from pipeline.building.fingerprints import Fingerprint, catalogue_hash, fingerprints, records_read
from pipeline.building.made_beside import MadeBeside
from pipeline.building.run_changes import COMPARED, write_run_changes
from pipeline.building.side_processes import SideProcesses
from pipeline.building.table_making import make_for_doors, make_table, place_frame, quoted, read_frames
from pipeline.building.turns import Turns
from pipeline.errors import UserError
from pipeline.graph import Graph, standard_graph
from pipeline.model_files import ModelError
from pipeline.progress import Progress
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


def build_results(
    inputs: BuildInputs,
    target: Path,
    progress: Progress,
    graph: Graph | None = None,
    sides: SideProcesses | None = None,
) -> BuildReport:
    """Builds the tables of the graph into the new file `target`, with settings, catalogue, `build_log`, `runs` and,
    where all is there that it compares, `run_changes`.

    sides  processes that make tables beside this one; the tables are the same without any
    Raises ModelError naming the model that failed, whatever the cause.
    """
    graph = graph or standard_graph()
    connection = open_for_build(inputs.records, target, target.parent / "spill")
    try:
        for name, frame in inputs.sources.items():
            write_frame(connection, name, frame)
        builder = _Builder(connection, graph, inputs, sides or SideProcesses(0))
        order = _build_order(graph, inputs.only)
        report = BuildReport(tuple(builder.add_all(order, progress)))
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
    """Makes or copies one table after another on one connection, and has others made beside."""

    def __init__(
        self, connection: "duckdb.DuckDBPyConnection", graph: Graph, inputs: BuildInputs, sides: SideProcesses
    ) -> None:
        self._log: dict[str, BuiltTable] = {}
        self._begun: dict[str, float] = {}
        self._beside = MadeBeside(sides)
        self._connection = connection
        self._graph = graph
        records = write_door_prints(connection, records_read(graph, inputs.sources))
        prints = fingerprints(graph, inputs.sources, records)
        self.records_state = prints.records_state
        before = _attach_previous(connection, inputs.previous)
        self.has_previous = bool(before)
        self._changes = Changes(connection, graph, prints.models, before)
        self._changed_doors = ChangedDoors(connection, graph, self._changes)

    def add_all(self, order: list[str], progress: Progress) -> list[BuiltTable]:
        """Makes or copies each table once all that it reads is there; the log of them in the given order."""
        turns = Turns(self._graph, order)
        while turns.n_unmade:
            for_side = turns.for_side() if self._beside.has_free else None
            table = for_side or turns.for_first(spares_sides=bool(self._beside.tables))
            if table is not None:
                progress.at(f"Building {table}", len(order) - turns.n_unmade, len(order))
                turns.begin(table)
                if not (for_side and self._handed_over(table)):
                    self._add(table)
                    turns.end(table)
            for made, frame in self._beside.finished(can_wait=table is None).items():
                self._take_back(made, frame)
                turns.end(made)
        return [self._log[table] for table in order]

    def _handed_over(self, table: str) -> bool:
        """Has the table made beside; False where it is to be copied, which is quicker done than told."""
        if not self._changes.must_rebuild(table):
            return False
        self._begun[table] = time.perf_counter()
        model = self._graph.models[table]
        self._beside.begin(model, read_frames(self._connection, self._graph, model))
        return True

    def _take_back(self, table: str, frame: "pl.DataFrame | None") -> None:
        """Places what was made beside; makes the table here where that failed, so that its error is told from here."""
        started = self._begun.pop(table)
        if frame is None:
            self._add(table)
            return
        with self._naming(table):
            place_frame(self._connection, self._graph, table, "results", frame)
        self._note(table, started, is_rebuilt=True)

    def _add(self, table: str) -> None:
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
        self._note(table, started, is_rebuilt, doors)

    def _note(self, table: str, started: float, is_rebuilt: bool, doors: str | None = None) -> None:
        """One line of the log. doors: table of those that the table was made anew for, where not for all."""
        is_view = self._graph.models[table].header.is_view
        rows = None if is_view else _count(self._connection, f"results.main.{quoted(table)}")
        prints = self._changes.now[table]
        seconds = time.perf_counter() - started
        n_doors = None if doors is None else _count(self._connection, doors)
        made = BuiltTable(table, prints.rules, prints.own, prints.whole, rows, seconds, is_rebuilt, n_doors)
        self._log[table] = made

    def _make(self, table: str, place: str, doors: str | None) -> None:
        """Makes the table; anew for some doors only where a table of those is named."""
        evaluate = Evaluator(self._connection, self._graph, VIEWS_AND_RESULTS, may_read=self._graph.upstream(table))
        with self._naming(table):
            if doors is not None:
                make_for_doors(self._connection, self._graph, table, doors, SLICE_ROWS)
                return
            make_table(self._connection, self._graph, table, place, evaluate, SLICE_ROWS)

    @contextmanager
    def _naming(self, table: str) -> Iterator[None]:
        """Names the model in whatever fails within."""
        try:
            yield
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
