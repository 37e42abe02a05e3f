"""Deviations straight from the CSV files: the project's own models over views of the files, nothing taken in."""

import csv
from pathlib import Path

from pipeline.building.build import write_frame
from pipeline.building.table_making import make_table
from pipeline.catalogue.tables import catalogue_tables
from pipeline.graph import RECORD_SOURCES, Graph, standard_graph
from pipeline.settings import load_settings, settings_table
from pipeline.warehouse import VIEWS_AND_RESULTS, connect
from tests.benchmarks.jobs import read_csv
from tests.conftest import RECORD_COLUMNS


def deviations_straight_from_csv(folder: Path, out: Path) -> int:
    """Makes `deviations` and what it reads in a new results.duckdb; gives its number of rows."""
    return _build(folder, out, ("deviations",))


def numbers_straight_from_csv(folder: Path, out: Path) -> None:
    """Makes `deviations`, `callback_rates`, `effects` and what they read in a new results.duckdb."""
    _build(folder, out, ("deviations", "callback_rates", "effects"))


def _build(folder: Path, out: Path, tables: tuple[str, ...]) -> int:
    out.mkdir(parents=True, exist_ok=True)
    settings, catalogue = load_settings(folder)
    assert settings.as_of is not None
    frames = {"settings": settings_table(settings, settings.as_of), **catalogue_tables(catalogue)}
    graph = standard_graph()
    with connect(out / "spill") as connection:
        connection.execute(f"ATTACH '{out / 'results.duckdb'}' AS results")
        for name in RECORD_SOURCES:
            connection.execute(f"CREATE VIEW memory.main.{name} AS {_view(folder, name)}")
        for name, frame in frames.items():
            write_frame(connection, name, frame)
        connection.execute(f"SET search_path = '{VIEWS_AND_RESULTS}'")
        for name in _order(graph, tables):
            is_view = graph.models[name].header.is_view
            make_table(connection, graph, name, "memory" if is_view else "results")
        return int(connection.execute("SELECT count(*) FROM deviations").fetchall()[0][0])


def _order(graph: Graph, tables: tuple[str, ...]) -> list[str]:
    wanted = set(tables).union(*(graph.upstream(table) for table in tables))
    return [name for name in graph.models if name in wanted]


def _view(folder: Path, record: str) -> str:
    path, columns = folder / f"{record}.csv", RECORD_COLUMNS.get(record, {})
    if record == "readings":
        return f"SELECT *, NULL::DOUBLE AS written_value, NULL::VARCHAR AS written_unit FROM {read_csv(path)}"
    if not path.is_file():
        return "SELECT " + ", ".join(f'NULL::{kind} AS "{name}"' for name, kind in columns.items()) + " WHERE false"
    with path.open(encoding="utf-8", newline="") as file:
        written = next(csv.reader(file))
    cells = {name: f'"{name}"' if name in written else "NULL" for name in columns}
    typed = ", ".join(f'{cells[name]}::{kind} AS "{name}"' for name, kind in columns.items())
    return f"SELECT {typed} FROM read_csv('{path}', header = true, all_varchar = true)"
