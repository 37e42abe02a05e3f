"""Whose turn it is: which table to make next, here or in a process beside, while others are being made.

Takes the graph and the tables to make, in build order; gives one table at a time whose inputs are all made. Never
makes a table.
"""

from pipeline.graph import Graph


class Turns:
    """The tables that are left, those being made, and those that are made.

    order  the tables to make, each after all that it reads
    """

    def __init__(self, graph: Graph, order: list[str]) -> None:
        self._graph = graph
        self._left = list(order)
        self._unmade = set(order)
        self._reads = {table: set(graph.models[table].reads) & self._unmade for table in order}
        self._n_waiting = {table: len(graph.downstream([table])) for table in order if self._can_go(table)}

    @property
    def n_unmade(self) -> int:
        """How many tables are not made yet."""
        return len(self._unmade)

    def for_side(self) -> str | None:
        """The ready table that most others wait for, of those that need nothing but the rows they read."""
        ready = [table for table in self._left if table in self._n_waiting and self._is_ready(table)]
        rank = {table: (self._graph.models[table].header.is_last, -self._n_waiting[table]) for table in ready}
        return min(ready, key=rank.__getitem__, default=None)

    def for_first(self, spares_sides: bool) -> str | None:
        """The first ready table for the process that holds the database, in build order.

        spares_sides  leave to other processes what they can make
        """
        not_last = any(not self._graph.models[table].header.is_last for table in self._left)
        for table in self._left:
            waits_for_end = not_last and self._graph.models[table].header.is_last
            is_spared = spares_sides and table in self._n_waiting
            if not waits_for_end and not is_spared and self._is_ready(table):
                return table
        return None

    def begin(self, table: str) -> None:
        """Takes the table off those that are left."""
        self._left.remove(table)

    def end(self, table: str) -> None:
        """Tells that the table is made."""
        self._unmade.remove(table)

    def _is_ready(self, table: str) -> bool:
        return not self._reads[table] & self._unmade

    def _can_go(self, table: str) -> bool:
        model = self._graph.models[table]
        return not model.is_sql and not model.asks_evaluate
