"""Makes one table from its model, with the declared columns and types, and holds it to its header.

Takes a connection whose search path finds every table that the model reads. Never decides what to make.
"""

import importlib
import importlib.util
from types import ModuleType
from typing import TYPE_CHECKING, Any

from pipeline.graph import Graph
from pipeline.model_files import PYTHON_FOLDER, RESERVED_ARGUMENT, Column, Model, ModelError

if TYPE_CHECKING:
    import duckdb
    import polars as pl


def make_table(
    connection: "duckdb.DuckDBPyConnection",
    graph: Graph,
    table: str,
    place: str,
    evaluate: Any = None,
) -> None:
    """Makes `table` in the catalogue `place` and checks its columns and key.

    evaluate  what a model that asks for it is given (see `evaluation.Evaluator`)
    Raises ModelError naming the table when its columns are not those of its header, or when its key is empty
    somewhere or repeats.
    """
    model = graph.models[table]
    if model.is_sql:
        query = model.text.rstrip().rstrip(";")
        columns = connection.execute(f"DESCRIBE FROM ({query}\n)").fetchall()
        _check_columns(model, [row[0] for row in columns])
        _create(connection, model, place, f"({query}\n)")
    else:
        frame = _build(connection, graph, model, evaluate)
        _check_columns(model, frame.columns)
        connection.register("built_frame", frame)
        _create(connection, model, place, "built_frame")
        connection.unregister("built_frame")
    if model.header.key:
        _check_key(connection, model)


def quoted(name: str) -> str:
    """The name as a quoted SQL identifier."""
    return '"' + name.replace('"', '""') + '"'


def read_frame(connection: "duckdb.DuckDBPyConnection", graph: Graph, table: str) -> "pl.DataFrame":
    """The table as a frame, in the order of its key so that the same rows always come in the same order."""
    return connection.sql(f"FROM {quoted(table)} {row_order(graph, table)}").pl()


def row_order(graph: Graph, table: str) -> str:
    """The ORDER BY clause that fixes the order of a table's rows; none for settings and catalogue."""
    if table in graph.models and graph.models[table].header.key:
        return "ORDER BY " + ", ".join(map(quoted, graph.models[table].header.key))
    return "" if table == "settings" or table.startswith("catalogue_") else "ORDER BY ALL"


def _build(connection: "duckdb.DuckDBPyConnection", graph: Graph, model: Model, evaluate: Any) -> "pl.DataFrame":
    frames = {name: read_frame(connection, graph, name) for name in model.reads}
    asked = {RESERVED_ARGUMENT: evaluate} if model.asks_evaluate else {}
    return _module(model).build(**frames, **asked)


def _module(model: Model) -> ModuleType:
    if model.path.is_relative_to(PYTHON_FOLDER):
        return importlib.import_module(f"pipeline.model.{model.layer}.{model.name}")
    spec = importlib.util.spec_from_file_location(model.name, model.path)
    if spec is None or spec.loader is None:
        raise ModelError(f"{model.where} cannot be imported")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _create(connection: "duckdb.DuckDBPyConnection", model: Model, place: str, rows: str) -> None:
    kind = "VIEW" if model.header.is_view else "TABLE"
    columns = ", ".join(_typed(column) for column in model.header.columns)
    connection.execute(f"CREATE {kind} {place}.main.{quoted(model.name)} AS SELECT {columns} FROM {rows}")


def _typed(column: Column) -> str:
    return f"CAST({quoted(column.name)} AS {column.duckdb_type}) AS {quoted(column.name)}"


def _check_columns(model: Model, built: list[str]) -> None:
    promised = [column.name for column in model.header.columns]
    if sorted(built) != sorted(promised):
        missing = sorted(set(promised) - set(built)) or "none"
        extra = sorted(set(built) - set(promised)) or "none"
        raise ModelError(f"{model.where}: columns of the header not built: {missing}; built but not in it: {extra}")


def _check_key(connection: "duckdb.DuckDBPyConnection", model: Model) -> None:
    names = [quoted(name) for name in model.header.key]
    key = ", ".join(names)
    has_null = " OR ".join(f"{name} IS NULL" for name in names)
    counted = f"SELECT {key}, count(*) AS n_rows FROM {quoted(model.name)} GROUP BY {key}"
    breach = connection.execute(f"{counted} HAVING count(*) > 1 OR {has_null} LIMIT 1").fetchall()
    if breach:
        *values, n_rows = breach[0]
        pairs = zip(model.header.key, values, strict=True)
        example = ", ".join(f"{name} = {value!r}" for name, value in pairs)
        raise ModelError(f"{model.where}: the key must be whole and unique; {n_rows} rows have {example}")
