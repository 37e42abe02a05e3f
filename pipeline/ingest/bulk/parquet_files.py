"""Large Parquet by the typed path: DuckDB reads its columns in their own types; a row's place gives its number."""

from collections.abc import Collection, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.bulk.typed import (
    BULKY,
    BulkSource,
    certain_manners,
    find_unsure,
    land_bulk,
    shown_point,
    typed_cell,
    with_mended,
)
from pipeline.ingest.files.headers import Header
from pipeline.ingest.files.parquet_text import as_part, open_parquet
from pipeline.ingest.files.sheets import PART_ROWS, Part
from pipeline.ingest.history.segments import FIRST_ROW
from pipeline.ingest.history.store import one_row
from pipeline.ingest.judging.judge import Judge
from pipeline.ingest.records import DAY, NUMBER, Column, Record
from pipeline.ingest.texts.manners import Manners
from pipeline.warehouse import escaped_to_read

if TYPE_CHECKING:
    import duckdb

_NUMBERS = ("TINYINT", "SMALLINT", "INTEGER", "BIGINT", "UTINYINT", "USMALLINT", "UINTEGER", "DOUBLE")


class BulkParquet:
    """One large Parquet file on the typed path. n_landed: rows of its table, those the judge has to see included."""

    def __init__(self, record: Record, path: Path, header: Header, names: list[str]) -> None:
        self.record = record
        self.header = header
        self.n_landed = 0
        self.manners = Manners()
        self.unsure: list[int] = []
        self._relation = f"read_parquet('{escaped_to_read(path)}')"
        self._numbered = f"read_parquet('{escaped_to_read(path)}', file_row_number = true)"
        self._names = {name: names[place] for name, place in header.places.items()}
        self._connection: duckdb.DuckDBPyConnection | None = None

    def land(
        self, connection: "duckdb.DuckDBPyConnection", judge: Judge, load: int, mended: Collection[int] = ()
    ) -> bool:
        """Lands the file in a table of its own; false where its columns have types that are read as text.

        mended  rows that people corrected: the judge has to see them
        """
        import duckdb

        self._connection = connection
        try:
            kinds = {name: kind for name, kind, *_ in connection.execute(f"DESCRIBE FROM {self._relation}").fetchall()}
            cells = {
                name: _cell(self.record.column(name), f's."{written}"', kinds[written])
                for name, written in self._names.items()
            }
            if None in cells.values():
                return False
            source = BulkSource(self._relation, {name: cell for name, cell in cells.items() if cell})
            table = land_bulk(connection, self.record, source, load)
        except duckdb.Error:
            return False
        (self.n_landed,) = one_row(connection, f"SELECT count(*) FROM {table}")
        ids = find_unsure(connection, self.record, judge.catalogue, table)
        there = range(FIRST_ROW, FIRST_ROW + self.n_landed)
        self.unsure = with_mended((id_ + FIRST_ROW for id_ in ids), mended, there)
        texts = {name: f's."{written}"' for name, written in self._names.items() if kinds[written] == "VARCHAR"}
        manners = certain_manners(
            judge,
            self.parts(PART_ROWS),
            lambda name: shown_point(connection, self._relation, texts[name]) if name in texts else None,
            (connection, table),
        )
        self.manners = manners or self.manners
        return manners is not None

    def parts(self, size: int) -> Iterator[Part]:
        """The rows that the judge has to see, as text."""
        assert self._connection is not None
        columns = ", ".join(f's."{written}" AS "{name}"' for name, written in self._names.items())
        for begin in range(0, len(self.unsure), size):
            wanted = pl.DataFrame({"row": self.unsure[begin : begin + size]})
            self._connection.register("wanted", wanted)
            frame = self._connection.sql(
                f'SELECT w."row", {columns} FROM {self._numbered} AS s '
                f'JOIN wanted AS w ON w."row" = s.file_row_number + {FIRST_ROW} ORDER BY w."row"'
            ).pl()
            self._connection.unregister("wanted")
            yield as_part(self.record, frame, self.header)


def bulk_parquet(record: Record, path: Path) -> BulkParquet | None:
    """The file for the typed path. Raises Unreadable, as open_parquet."""
    if record not in BULKY:
        return None
    file, header = open_parquet(record, path)
    return None if header.units else BulkParquet(record, path, header, file.schema_arrow.names)


def _cell(column: Column, name: str, kind: str) -> str | None:
    """The SQL of a cell of a type; None for a type that is read as text instead."""
    if kind == "VARCHAR":
        return typed_cell(column, f"nullif({name}, '')")
    if column.kind == NUMBER and kind in _NUMBERS:
        return f"{name}::DOUBLE + 0.0"
    if column.kind == DAY and kind == "DATE":
        return name
    return None
