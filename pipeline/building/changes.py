"""Which tables a build must make anew, judged against the last results.

A table stays when nothing that it is made from changed: or when tables that it reads were made anew, but the columns
that it takes from them came out the same. Compares rows by hash; never makes a table.
"""

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from pipeline.building.fingerprints import Fingerprint, columns_taken, rows_hash
from pipeline.building.table_making import quoted
from pipeline.graph import Graph

if TYPE_CHECKING:
    import duckdb


@dataclass
class Changes:
    """Compares the build at hand with the last one.

    connection  holds the tables made so far as `results`, and the last ones as `previous` where `before` has any
    now         fingerprints of this build, by table
    before      fingerprints of the last build; empty where there is none
    """

    connection: "duckdb.DuckDBPyConnection"
    graph: Graph
    now: dict[str, Fingerprint]
    before: dict[str, Fingerprint]
    _same_rows: dict[tuple[str, tuple[str, ...]], bool] = field(default_factory=dict)

    def must_rebuild(self, table: str) -> bool:
        """True unless the table of the last results is what this build would make. Its inputs must be made."""
        if table not in self.before:
            return True
        if self.now[table].whole == self.before[table].whole:
            return False
        asks_others = self.graph.models[table].asks_evaluate  # it may read more than its own inputs
        return asks_others or not self._is_made_alike(table)

    def _is_made_alike(self, table: str) -> bool:
        """The same file, modules, sources and versions, over inputs that came out the same."""
        if table not in self.before or self.now[table].own != self.before[table].own:
            return False
        return all(self.came_out_same(read, table) for read in self.graph.models[table].reads if read in self.now)

    def came_out_same(self, read: str, reader: str) -> bool:
        """Whether the input has the rows of the last results, in the columns that its reader takes."""
        if read not in self.before:
            return False
        if self.now[read].whole == self.before[read].whole:
            return True
        if self.graph.models[read].header.is_view:
            return self._is_made_alike(read)
        columns = tuple(column.name for column in self.graph.models[read].header.columns)
        return self._has_same_rows(read, columns_taken(self.graph.models[reader], read, columns))

    def _has_same_rows(self, table: str, columns: tuple[str, ...]) -> bool:
        if (table, columns) not in self._same_rows:
            self._same_rows[table, columns] = table in self.previous_tables and (
                rows_hash(self.connection, f"results.main.{quoted(table)}", columns)
                == rows_hash(self.connection, f"previous.main.{quoted(table)}", columns)
            )
        return self._same_rows[table, columns]

    @cached_property
    def previous_tables(self) -> set[str]:
        """The tables of the last results; none where there are none."""
        query = "SELECT table_name FROM duckdb_tables() WHERE database_name = 'previous'"
        return {row[0] for row in self.connection.execute(query).fetchall()}
