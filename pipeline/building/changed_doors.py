"""Which doors' rows a table needs anew, judged against the last results; the others' rows are copied.

Only a table whose header says `each door: by itself` can be asked. Compares rows by hash; never makes a table.
"""

from typing import TYPE_CHECKING

from pipeline.building.changes import Changes
from pipeline.building.door_prints import DOOR_PRINTS
from pipeline.building.fingerprints import columns_taken
from pipeline.building.table_making import DOOR, quoted
from pipeline.graph import RECORD_SOURCES, Graph

if TYPE_CHECKING:
    import duckdb

# Above this share of the doors, making the whole table is quicker than picking some.
MOST_CHANGED = 0.25


class ChangedDoors:
    """Finds the changed doors of tables, in build order, beside `changes`, which knows which tables changed.

    connection  as that of `changes`; found doors are kept there, in tables of its memory
    """

    def __init__(self, connection: "duckdb.DuckDBPyConnection", graph: Graph, changes: Changes) -> None:
        self._connection = connection
        self._graph = graph
        self._changes = changes
        self._found: dict[tuple[str, tuple[str, ...]], str] = {}

    def of(self, table: str) -> str | None:
        """The name of a table of the doors (install_id) whose rows to make anew; None where the whole is to be made."""
        inputs = self._of_inputs(table) if not self._graph.models[table].header.is_view else None
        if inputs is None:
            return None
        name = quoted(f"changed doors of {table}")
        each = " UNION ".join(f'SELECT "{DOOR}" FROM {found}' for found in sorted(inputs))
        query = each or f"SELECT ''::VARCHAR AS \"{DOOR}\" WHERE false"
        self._connection.execute(f"CREATE TABLE memory.main.{name} AS {query}")
        return name if self._are_few(name, table) else None

    def _are_few(self, found: str, table: str) -> bool:
        counts = f'SELECT (SELECT count(*) FROM {found}), count(DISTINCT "{DOOR}") FROM previous.main.{quoted(table)}'
        n_changed, n_doors = self._connection.execute(counts).fetchall()[0]
        return bool(n_changed <= MOST_CHANGED * n_doors)

    def _of_inputs(self, table: str) -> set[str] | None:
        """Tables of changed doors that together make those of `table`; None where any door may have changed."""
        model, before = self._graph.models[table], self._changes.before.get(table)
        now = self._changes.now[table]
        if not model.header.door_by_door or before is None or before.rules != now.rules:
            return None
        found: set[str] = set()
        for read in model.reads:
            if read in self._graph.models:
                changed = self._of_model(read, table)
            elif read in RECORD_SOURCES:
                changed = set() if before.own == now.own else self._of_record(read)
            else:
                continue  # settings and catalogue: the same, or the rules would differ
            if changed is None:
                return None
            found |= changed
        return found

    def _of_record(self, record: str) -> set[str] | None:
        where = f"WHERE record = '{record}'"
        query = f'SELECT "{DOOR}", n_rows, total FROM {{}}.main.{DOOR_PRINTS} {where}'
        has_doors = self._connection.execute(f"SELECT 1 FROM results.main.{DOOR_PRINTS} {where} LIMIT 1").fetchall()
        return {self._compared((record, ()), query)} if has_doors else None

    def _of_model(self, read: str, reader: str) -> set[str] | None:
        model = self._graph.models[read]
        if self._changes.came_out_same(read, reader):
            return set()
        if model.header.is_view:
            return self._of_inputs(read)
        columns = tuple(column.name for column in model.header.columns)
        if DOOR not in columns or read not in self._changes.previous_tables:
            return None
        taken = columns_taken(self._graph.models[reader], read, columns)
        listed = ", ".join(map(quoted, taken))
        summed = f'SELECT "{DOOR}", count(*) AS n_rows, sum(hash({listed})) AS total'
        return {self._compared((read, taken), summed + " FROM {}.main." + f"{quoted(read)} GROUP BY ALL")}

    def _compared(self, what: tuple[str, tuple[str, ...]], query: str) -> str:
        """The name of the table of doors for which the query says otherwise of these results than of the last."""
        if what not in self._found:
            name = quoted(f"changed doors {len(self._found) + 1}")
            self._connection.execute(
                f"""
                CREATE TABLE memory.main.{name} AS
                SELECT "{DOOR}" FROM ({query.format("results")}) AS now
                FULL JOIN ({query.format("previous")}) AS before USING ("{DOOR}")
                WHERE now.n_rows IS DISTINCT FROM before.n_rows OR now.total IS DISTINCT FROM before.total
                """
            )
            self._found[what] = name
        return self._found[what]
