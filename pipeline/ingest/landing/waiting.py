"""Keeps the parts of a sheet until all have been looked at: one in memory, more of them in a temporary table."""

from collections.abc import Iterator
from types import TracebackType
from typing import TYPE_CHECKING, Self

from pipeline.ingest.files.sheets import Misfit, Part
from pipeline.ingest.history.store import with_frame

if TYPE_CHECKING:
    import duckdb

_TABLE = "waiting_parts"


class Waiting:
    """Parts of one sheet, given back in their order, once. What waits is gone when the block ends."""

    def __init__(self, connection: "duckdb.DuckDBPyConnection") -> None:
        self._connection = connection
        self._last: Part | None = None
        self._misfits: list[list[Misfit]] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._misfits:
            self._connection.execute(f"DROP TABLE IF EXISTS temp.{_TABLE}")

    def add(self, part: Part) -> None:
        """Takes one more part."""
        if self._last is not None:
            self._put_away(self._last)
        self._last = part

    def parts(self) -> Iterator[Part]:
        """The parts, in the order in which they came."""
        for number, misfits in enumerate(self._misfits):
            frame = self._connection.sql(
                f'SELECT * EXCLUDE (part) FROM temp.{_TABLE} WHERE part = {number} ORDER BY "row"'
            ).pl()
            yield Part(frame, misfits)
        if self._last is not None:
            yield self._last

    def _put_away(self, part: Part) -> None:
        number = len(self._misfits)
        into = f"INSERT INTO temp.{_TABLE} BY NAME" if number else f"CREATE OR REPLACE TEMP TABLE {_TABLE} AS"
        with_frame(self._connection, part.rows, f"{into} SELECT {number} AS part, * FROM incoming")
        self._misfits.append(part.misfits)
