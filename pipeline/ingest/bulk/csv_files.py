"""Large CSV by the typed path: where lines are rows, each row's number follows from its place in its table."""

from collections.abc import Collection, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
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
from pipeline.ingest.files.csv_text import OPEN_QUOTE, CsvFile, open_csv, split
from pipeline.ingest.files.file_scan import FileScan, lines_at
from pipeline.ingest.files.sheets import PART_ROWS, Part, make_part
from pipeline.ingest.history.segments import FIRST_ROW
from pipeline.ingest.history.store import one_row, with_frame
from pipeline.ingest.judging.judge import Judge
from pipeline.ingest.records import Record
from pipeline.ingest.texts.manners import Manners
from pipeline.warehouse import escaped_to_read

if TYPE_CHECKING:
    import duckdb

# Rows of the wrong length that are counted around; with more of them the file is read as text throughout.
_MOST_MISFITS = 100_000
_SPAN_BITS = 11
# What becomes of rows of the wrong length.
_KEEP, _SKIP = "store_rejects = true, rejects_table = 'misfits', rejects_scan = 'scans'", "ignore_errors = true"


class BulkCsv:
    """One large CSV on the typed path. n_landed: rows of its table, those the judge has to see included."""

    def __init__(self, record: Record, file: CsvFile, scan: FileScan) -> None:
        self.record = record
        self.header = file.header
        self.n_landed = 0
        self.manners = Manners()
        self._file = file
        self._n_lines = scan.n_lines
        self._misfits: list[int] = []
        self._unsure: list[int] = []

    @property
    def unsure(self) -> list[int]:
        """Numbers of the landed rows that the judge takes over."""
        return self._unsure

    def land(
        self, connection: "duckdb.DuckDBPyConnection", judge: Judge, load: int, mended: Collection[int] = ()
    ) -> bool:
        """Lands the file in a table of its own; false where it cannot be read so.

        mended  rows that people corrected: the judge has to see them
        """
        import duckdb

        places = self.header.places
        cells = {name: typed_cell(self.record.column(name), f"s.c{place}") for name, place in places.items()}
        for table in ("misfits", "scans"):
            connection.execute(f"DROP TABLE IF EXISTS temp.{table}")
        try:
            table = land_bulk(connection, self.record, BulkSource(_relation(self._file), cells), load)
        except duckdb.Error:
            return False
        misfits = connection.execute("SELECT DISTINCT line FROM temp.misfits ORDER BY line").fetchall()
        self._misfits = [row for (row,) in misfits]
        (self.n_landed,) = one_row(connection, f"SELECT count(*) FROM {table}")
        are_lines_rows = self.n_landed + len(misfits) + 1 == self._n_lines
        if not are_lines_rows or len(misfits) > _MOST_MISFITS:
            return False
        self._number_rows(connection, table)
        ids = find_unsure(connection, self.record, judge.catalogue, table)
        self._unsure = [id_ + FIRST_ROW for id_ in ids] if not misfits else _numbers(connection, table, ids)
        there = set(mended) - set(self._misfits)
        self._unsure = with_mended(self._unsure, there, range(FIRST_ROW, self._n_lines + 1))
        manners = certain_manners(
            judge,
            self.parts(PART_ROWS),
            lambda name: self._point(connection, name),
            (connection, table),
        )
        self.manners = manners or self.manners
        return manners is not None

    def _point(self, connection: "duckdb.DuckDBPyConnection", name: str) -> str | None:
        place = self.header.places.get(name)
        return None if place is None else shown_point(connection, _relation(self._file, _SKIP), f"s.c{place}")

    def parts(self, size: int) -> Iterator[Part]:
        """The rows that the judge has to see and the misfits, as text."""
        wanted = sorted([*self._unsure, *self._misfits])
        for begin in range(0, len(wanted), size):
            lines = lines_at(self._file.path, wanted[begin : begin + size])
            cells = ((row, split(line, self._file.separator) or OPEN_QUOTE) for row, line in lines)
            yield make_part(self.record, self.header, cells)

    def _number_rows(self, connection: "duckdb.DuckDBPyConnection", table: str) -> None:
        """Writes down the rows' numbers where misfits stand between them; else they follow from the rows' places."""
        if not self._misfits:
            return
        connection.execute(f'ALTER TABLE {table} ADD COLUMN "row" INTEGER')
        with_frame(
            connection,
            _spans(self.n_landed, self._misfits),
            f'UPDATE {table} SET "row" = {table}.rowid + s.shift FROM incoming AS s '
            f"WHERE {table}.rowid >> {_SPAN_BITS} = s.span AND {table}.rowid BETWEEN s.first AND s.last",
        )


def bulk_csv(record: Record, path: Path, scan: FileScan) -> BulkCsv | None:
    """The file for the typed path, where it is so plainly written that DuckDB and the text reader split it alike.

    Raises Unreadable, as open_csv.
    """
    if record not in BULKY or not scan.is_utf8 or scan.has_nul or scan.odd_quotes:
        return None
    file = open_csv(record, path, scan)
    is_utf8 = file.encoding.name in ("utf-8", "utf-8-sig")
    is_plain = is_utf8 and file.header_row == 1 and not file.header.units
    return BulkCsv(record, file, scan) if is_plain else None


def _spans(n_landed: int, misfits: list[int]) -> pl.DataFrame:
    """Stretches of a table over which a row's number less its place does not change.

    span, the leading bits of the place, finds the stretches of a row without looking at all of them.
    """
    # place of the first row after each misfit: the misfit's number less the header and the misfits before it
    after = np.asarray(misfits) - FIRST_ROW - np.arange(len(misfits))
    first = np.unique(np.concatenate([np.arange(0, n_landed, 1 << _SPAN_BITS), after[after < n_landed]]))
    return pl.DataFrame(
        {
            "first": first,
            "last": np.append(first[1:], n_landed) - 1,
            "span": first >> _SPAN_BITS,
            "shift": FIRST_ROW + np.searchsorted(after, first, side="right"),
        }
    )


def _numbers(connection: "duckdb.DuckDBPyConnection", table: str, ids: list[int]) -> list[int]:
    wanted = "SELECT DISTINCT id FROM unsure"
    rows = connection.execute(f'SELECT "row" FROM {table} WHERE rowid IN ({wanted}) ORDER BY "row"').fetchall()
    assert len(rows) == len(ids)
    return [row for (row,) in rows]


def _relation(file: CsvFile, misfits: str = _KEEP) -> str:
    columns = ", ".join(f"'c{place}': 'VARCHAR'" for place in range(file.header.width))
    return (
        f"read_csv('{escaped_to_read(file.path)}', columns = {{{columns}}}, header = true, auto_detect = false, "
        f"delim = '{file.separator}', quote = '\"', escape = '\"', {misfits})"
    )
