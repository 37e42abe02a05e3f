"""Tables of a simulated firm without a file written or read: its records go straight to where taking in leaves them.

`test_in_memory.py` holds that the tables are those of the real pipeline.
"""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager

import duckdb
import polars as pl

from pipeline.building.evaluation import Evaluator
from pipeline.building.table_making import make_table, quoted, read_frame
from pipeline.catalogue.tables import catalogue_tables
from pipeline.demo.callbacks import LABOUR_RATE
from pipeline.demo.simulate import Firm
from pipeline.graph import Graph, standard_graph
from pipeline.settings import Settings, settings_table
from pipeline.warehouse import VIEWS_AND_RESULTS
from tests.conftest import RECORD_COLUMNS


def tables_in_memory(
    firm: Firm, tables: tuple[str, ...], without_variants: bool = False, **settings: object
) -> dict[str, pl.DataFrame]:
    """These tables of the firm, each in the order of its key.

    without_variants  leaves out the effects of variants, a fifth of the work; those of causes stay what they are
    settings          fields of Settings beside the usual ones
    """
    graph = standard_graph()
    sources = _sources(firm, settings)
    if without_variants:
        is_variant = pl.col("role") == "variant"
        role = pl.when(is_variant).then(pl.lit("symptom")).otherwise("role").alias("role")
        sources["catalogue_deviations"] = sources["catalogue_deviations"].with_columns(role)
    with _loaded(firm, sources) as connection:
        wanted = set(tables).union(*(graph.upstream(name) for name in tables))
        for name in graph.models:
            if name in wanted:
                _make(connection, graph, name)
        return {name: read_frame(connection, graph, name) for name in tables}


def _make(connection: duckdb.DuckDBPyConnection, graph: Graph, name: str) -> None:
    evaluate = Evaluator(connection, graph, VIEWS_AND_RESULTS, may_read=graph.upstream(name))
    make_table(connection, graph, name, "memory" if graph.models[name].header.is_view else "results", evaluate)


@contextmanager
def _loaded(firm: Firm, sources: dict[str, pl.DataFrame]) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection that holds records, settings and catalogue, with `results` still empty."""
    with tempfile.TemporaryDirectory() as spill, duckdb.connect(":memory:") as connection:
        connection.execute(f"SET temp_directory = '{spill}'")
        connection.execute("SET preserve_insertion_order = false")
        connection.execute("ATTACH ':memory:' AS results")
        for name, columns in RECORD_COLUMNS.items():
            typed = ", ".join(f"{quoted(column)} {kind}" for column, kind in columns.items())
            connection.execute(f"CREATE TABLE memory.main.{name} ({typed})")
        for name, table in {**firm.records, "readings": firm.readings}.items():
            rows = table.select(column for column in table.columns if column in RECORD_COLUMNS[name])
            _insert(connection, f"INSERT INTO memory.main.{name} BY NAME FROM given_rows", rows)
        for name, frame in sources.items():
            _insert(connection, f"CREATE TABLE results.main.{name} AS FROM given_rows", frame)
        connection.execute(f"SET search_path = '{VIEWS_AND_RESULTS}'")
        yield connection


def _sources(firm: Firm, settings: dict[str, object]) -> dict[str, pl.DataFrame]:
    named = {"firm": "Invented firm (simulated)", "currency": "GBP", "labour_rate": LABOUR_RATE, **settings}
    return {
        "settings": settings_table(Settings(**named), firm.scenario.ends_on),  # type: ignore[arg-type]
        **catalogue_tables(firm.catalogue),
    }


def _insert(connection: duckdb.DuckDBPyConnection, sql: str, rows: pl.DataFrame) -> None:
    connection.register("given_rows", rows)
    connection.execute(sql)
    connection.unregister("given_rows")
