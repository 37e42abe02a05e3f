"""Makes one table from its model, with the declared columns and types, and holds it to its header.

Takes a connection whose search path finds every table that the model reads. Never decides what to make.
"""

import importlib
import importlib.util
from contextlib import suppress
from types import ModuleType
from typing import TYPE_CHECKING, Any

from pipeline.graph import Graph
from pipeline.model_files import EVALUATE, PART, PYTHON_FOLDER, Column, Model, ModelError

if TYPE_CHECKING:
    import duckdb
    import polars as pl

DOOR = "install_id"


def make_table(
    connection: "duckdb.DuckDBPyConnection",
    graph: Graph,
    table: str,
    place: str,
    evaluate: Any = None,
    slice_rows: int = 0,
) -> None:
    """Makes `table` in the catalogue `place` and checks its columns and key.

    evaluate    what a model that asks for it is given (see `evaluation.Evaluator`)
    slice_rows  where the header names slices: rows of the named table in one; 0 makes the table whole
    Raises ModelError naming the table when its columns are not those of its header, or when its key is empty
    somewhere or repeats.
    """
    model = graph.models[table]
    if model.is_sql:
        query = model.text.rstrip().rstrip(";")
        columns = connection.execute(f"DESCRIBE FROM ({query}\n)").fetchall()
        _check_columns(model, [row[0] for row in columns])
        slices = _slices(connection, *_sliced(graph, model), slice_rows) if slice_rows and model.header.slices else [""]
        for number, part in enumerate(slices):
            _write(connection, model, place, f"({query}\n) {part}", is_first=number == 0)
        if model.header.key:
            _check_key(connection, model)
    else:
        frames = read_frames(connection, graph, model)
        _give_memory_back(connection)
        asked = {EVALUATE: evaluate} if model.asks_evaluate else {}
        place_frame(connection, graph, table, place, build_frame(model, frames, **asked))


def read_frames(connection: "duckdb.DuckDBPyConnection", graph: Graph, model: Model) -> "dict[str, pl.DataFrame]":
    """Every table that the model reads, by name."""
    return {name: read_frame(connection, graph, name) for name in model.reads}


def build_frame(
    model: Model, frames: "dict[str, pl.DataFrame]", part: tuple[int, int] = (0, 1), **asked: Any
) -> "pl.DataFrame":
    """What a model made in Python makes of the tables that it reads.

    part   which part of its rows, where the model can make some; the whole otherwise
    asked  what it takes beside them
    """
    parted = {PART: part} if model.asks_part else {}
    frame: pl.DataFrame = _module(model).build(**frames, **parted, **asked)
    return frame


def place_frame(
    connection: "duckdb.DuckDBPyConnection", graph: Graph, table: str, place: str, frame: "pl.DataFrame"
) -> None:
    """Writes the frame as `table` in the catalogue `place`. Raises ModelError as `make_table` does."""
    model = graph.models[table]
    _check_columns(model, frame.columns)
    connection.register("built_frame", frame)
    _write(connection, model, place, "built_frame")
    connection.unregister("built_frame")
    if model.header.key:
        _check_key(connection, model)


def make_for_doors(
    connection: "duckdb.DuckDBPyConnection", graph: Graph, table: str, doors: str, slice_rows: int
) -> None:
    """Makes a table of the results anew for some doors; the rows of all others are those of the last results.

    table   made by SQL, `each door: by itself`
    doors   table of their install_id
    Raises ModelError as `make_table` does.
    """
    model = graph.models[table]
    query = model.text.rstrip().rstrip(";")
    chosen = f"USING ({quoted(DOOR)})"
    (path,) = connection.execute("SELECT current_setting('search_path')").fetchall()[0]
    connection.execute("ATTACH ':memory:' AS some_doors")
    try:
        for read in model.reads:
            if DOOR in [row[0] for row in connection.execute(f"DESCRIBE FROM {quoted(read)}").fetchall()]:
                is_table = read in graph.models and not graph.models[read].header.is_view
                place = f"{'results' if is_table else 'memory'}.main.{quoted(read)}"
                connection.execute(
                    f"CREATE VIEW some_doors.main.{quoted(read)} AS FROM {place} SEMI JOIN memory.main.{doors} {chosen}"
                )
        _write(connection, model, "results", f"previous.main.{quoted(table)} ANTI JOIN {doors} {chosen}")
        slices = _slices(connection, doors, DOOR, slice_rows)
        connection.execute(f"SET search_path = 'some_doors.main,{path}'")
        for part in slices:
            _write(connection, model, "results", f"({query}\n) {part}", is_first=False)
    finally:
        connection.execute(f"SET search_path = '{path}'")
        connection.execute("DETACH some_doors")
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


def _give_memory_back(connection: "duckdb.DuckDBPyConnection") -> None:
    """Lets go of the pages that the database only holds for the next query, so that a model has room to compute."""
    import duckdb

    (limit,) = connection.execute("SELECT current_setting('memory_limit')").fetchall()[0]
    with suppress(duckdb.Error):  # what is in use stays
        connection.execute("SET memory_limit = '64MB'")
    connection.execute(f"SET memory_limit = '{limit}'")


def _module(model: Model) -> ModuleType:
    if model.path.is_relative_to(PYTHON_FOLDER):
        return importlib.import_module(f"pipeline.model.{model.layer}.{model.name}")
    spec = importlib.util.spec_from_file_location(model.name, model.path)
    if spec is None or spec.loader is None:
        raise ModelError(f"{model.where} cannot be imported")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _sliced(graph: Graph, model: Model) -> tuple[str, str]:
    """The table by whose key the model's rows are cut into slices, and that key."""
    (key,) = graph.models[model.header.slices].header.key
    return quoted(model.header.slices), key


def _slices(connection: "duckdb.DuckDBPyConnection", table: str, key: str, slice_rows: int) -> list[str]:
    """WHERE clauses that cut rows into slices by the key of a table."""
    numbered = f"SELECT {key}, row_number() OVER (ORDER BY {key}) AS n FROM {table}"
    starts = connection.execute(f"SELECT {key} FROM ({numbered}) WHERE n % {slice_rows} = 0 ORDER BY {key}").fetchall()
    texts = ["'" + str(row[0]).replace("'", "''") + "'" for row in starts]
    # the first slice has no start and the last no end, so that no row falls between them
    lows = ["", *(f"{key} >= {text}" for text in texts)]
    highs = [*(f"{key} < {text}" for text in texts), ""]
    bounds = [" AND ".join(filter(None, pair)) for pair in zip(lows, highs, strict=True)]
    return [f"WHERE {bound}" if bound else "" for bound in bounds]


def _write(connection: "duckdb.DuckDBPyConnection", model: Model, place: str, rows: str, is_first: bool = True) -> None:
    kind = "VIEW" if model.header.is_view else "TABLE"
    columns = ", ".join(_typed(column) for column in model.header.columns)
    target = f"{place}.main.{quoted(model.name)}"
    start = f"CREATE {kind} {target} AS" if is_first else f"INSERT INTO {target}"
    connection.execute(f"{start} SELECT {columns} FROM {rows}")


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
    # Equal keys have equal hashes, and to tell hashes apart costs half of what it costs to tell keys apart.
    counts = ", ".join(f"count({name})" for name in names)
    rows = f"SELECT count(*), {counts}, count(DISTINCT hash({key})) FROM {quoted(model.name)}"
    if len(set(connection.execute(rows).fetchall()[0])) == 1:
        return
    has_null = " OR ".join(f"{name} IS NULL" for name in names)
    counted = f"SELECT {key}, count(*) AS n_rows FROM {quoted(model.name)} GROUP BY {key}"
    breach = connection.execute(f"{counted} HAVING count(*) > 1 OR {has_null} LIMIT 1").fetchall()
    if breach:
        *values, n_rows = breach[0]
        pairs = zip(model.header.key, values, strict=True)
        example = ", ".join(f"{name} = {value!r}" for name, value in pairs)
        raise ModelError(f"{model.where}: the key must be whole and unique; {n_rows} rows have {example}")
