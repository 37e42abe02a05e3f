"""What if: any table of the graph with some of its inputs replaced, in a scratch database of its own.

Takes a connection on built (or published) tables. Makes anew only what lies between the replaced inputs
and the wanted table; all else is read as it stands. Never changes the tables it reads.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from typing import TYPE_CHECKING, TypeAlias

from pipeline.building.table_making import make_table, quoted, read_frame
from pipeline.graph import Graph
from pipeline.model_files import ModelError

if TYPE_CHECKING:
    import duckdb
    import polars as pl
    import pyarrow as pa

    Replacement: TypeAlias = pl.DataFrame | duckdb.DuckDBPyRelation | str

_scratch_numbers = count(1)


class Evaluator:
    """Evaluates tables over the search path of a connection.

    connection   finds every table and view of the graph under `search_path`
    may_read     where given, the only tables that may be asked for: a model may ask for what lies upstream
    """

    def __init__(
        self,
        connection: "duckdb.DuckDBPyConnection",
        graph: Graph,
        search_path: str = "memory.main,results.main",
        may_read: set[str] | None = None,
    ) -> None:
        self._connection = connection
        self._graph = graph
        self._search_path = search_path
        self._may_read = may_read

    def __call__(self, table: str, **replaced: "Replacement") -> "pl.DataFrame":
        """The same as `evaluate`, so that a model's `evaluate` argument reads as a function."""
        return self.evaluate(table, **replaced)

    def evaluate(self, table: str, **replaced: "Replacement") -> "pl.DataFrame":
        """The rows of `table`, in the order of its key, were the `replaced` tables these rows.

        A replacement is a polars frame, a DuckDB relation, or a SELECT over the tables as they stand. It
        needs the columns of the table it stands for and takes their types.
        Raises ModelError for a table that is not known, or that a model may not ask for.
        """
        self._check(table, replaced)
        with self._scratch() as (cursor, place):
            for name, rows in replaced.items():
                self._replace(cursor, place, name, rows)
            cursor.execute(f"SET search_path = '{place}.main,{self._search_path}'")
            inner = Evaluator(cursor, self._graph, f"{place}.main,{self._search_path}", self._may_read)
            for name in self._graph.between(replaced, table):
                make_table(cursor, self._graph, name, place, inner)
            return read_frame(cursor, self._graph, table)

    def _check(self, table: str, replaced: dict[str, "Replacement"]) -> None:
        for name in (table, *replaced):
            if name not in self._graph.models and name not in self._graph.sources:
                raise ModelError(f"evaluate: no table is called {name}")
            if self._may_read is not None and name not in self._may_read:
                raise ModelError(f"evaluate: {name} does not lie upstream; add it to the arguments of build")

    @contextmanager
    def _scratch(self) -> Iterator[tuple["duckdb.DuckDBPyConnection", str]]:
        place = f"scratch_{next(_scratch_numbers)}"
        cursor = self._connection.cursor()
        cursor.execute(f"SET search_path = '{self._search_path}'")
        cursor.execute(f"ATTACH ':memory:' AS {place}")
        try:
            yield cursor, place
        finally:
            cursor.execute(f"SET search_path = '{self._search_path}'")
            cursor.execute(f"DETACH {place}")
            cursor.close()

    def _replace(self, cursor: "duckdb.DuckDBPyConnection", place: str, name: str, rows: "Replacement") -> None:
        types = cursor.execute(f"DESCRIBE FROM {quoted(name)}").fetchall()
        columns = ", ".join(f"CAST({quoted(row[0])} AS {row[1]}) AS {quoted(row[0])}" for row in types)
        target = f"{place}.main.{quoted(name)}"
        if isinstance(rows, str):
            cursor.execute(f"CREATE TABLE {target} AS SELECT {columns} FROM ({rows}\n)")
            return
        cursor.register("replacement", _arrow(rows))
        cursor.execute(f"CREATE TABLE {target} AS SELECT {columns} FROM replacement")
        cursor.unregister("replacement")


def _arrow(rows: "pl.DataFrame | duckdb.DuckDBPyRelation") -> "pa.Table":
    import polars as pl

    return rows.to_arrow() if isinstance(rows, pl.DataFrame) else rows.to_arrow_table()
