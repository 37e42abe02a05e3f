"""Large CSV by the typed path: where lines are rows, each row's number follows from the order it was landed in."""

from typing import TYPE_CHECKING

from pipeline.catalogue import Catalogue
from pipeline.ingest.bulk import BULKY, BulkSource, land_bulk, typed_cell
from pipeline.ingest.csv_text import CsvFile, make_part, open_csv, split
from pipeline.ingest.file_scan import FileScan, lines_at
from pipeline.ingest.records import Record
from pipeline.ingest.sheets import Part
from pipeline.ingest.store import one_row, rows_table
from pipeline.warehouse import escaped

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    import duckdb

# Rows of the wrong length that are counted around; with more of them the file is read as text throughout.
_MOST_MISFITS = 1_000


class BulkCsv:
    """One large CSV on the typed path."""

    def __init__(self, record: Record, file: CsvFile, scan: FileScan) -> None:
        self.record = record
        self.file = file
        self.header = file.header
        self._n_lines = scan.n_lines
        self._misfits: list[int] = []

    def land(self, connection: "duckdb.DuckDBPyConnection", catalogue: Catalogue, load: int) -> bool:
        """Lands the file under a load number, its rows still without number; false where it cannot be read so."""
        import duckdb

        cells = {
            name: typed_cell(self.record.column(name), f"s.c{place}") for name, place in self.header.places.items()
        }
        for table in ("misfits", "scans"):
            connection.execute(f"DROP TABLE IF EXISTS temp.{table}")
        try:
            land_bulk(connection, self.record, catalogue, BulkSource(_relation(self.file), cells), load)
        except duckdb.Error:
            return False
        self._misfits = [
            row for (row,) in connection.execute("SELECT DISTINCT line FROM temp.misfits ORDER BY line").fetchall()
        ]
        (n_rows,) = one_row(connection, f"SELECT count(*) FROM {rows_table(self.record)} WHERE load = {load}")
        return n_rows + len(self._misfits) + 1 == self._n_lines and len(self._misfits) <= _MOST_MISFITS

    def number_rows(self, connection: "duckdb.DuckDBPyConnection", load: int) -> None:
        """Gives landed rows their numbers: the order of landing is that of the file, misfits counted in between."""
        table = rows_table(self.record)
        (first,) = one_row(connection, f"SELECT min(rowid) FROM {table} WHERE load = {load}")
        start = 0
        for shift, misfit in enumerate([*self._misfits, self._n_lines + 1]):
            # rows before this misfit: as many as its number, less the header, itself and the misfits before it
            end = misfit - 2 - shift
            connection.execute(
                f'UPDATE {table} SET "row" = rowid - {first} + {2 + shift} '
                f"WHERE load = {load} AND rowid >= {first + start} AND rowid < {first + end}"
            )
            start = end

    def parts(self, rows: list[int], size: int) -> "Iterator[Part]":
        """The rows of the given numbers and the misfits, as text."""
        wanted = sorted([*rows, *self._misfits])
        for begin in range(0, len(wanted), size):
            lines = lines_at(self.file.path, wanted[begin : begin + size])
            cells = ((row, split(line, self.file.separator)) for row, line in lines)
            yield make_part(self.record, self.header, cells)


def bulk_csv(record: Record, path: "Path", scan: FileScan) -> BulkCsv | None:
    """The file for the typed path, where it is so plainly written that DuckDB and the text reader split it alike.

    Raises Unreadable, as open_csv.
    """
    if record not in BULKY or not scan.is_utf8 or scan.has_nul or scan.odd_quotes:
        return None
    file = open_csv(record, path)
    is_utf8 = file.encoding.name in ("utf-8", "utf-8-sig")
    return BulkCsv(record, file, scan) if is_utf8 and file.header_row == 1 else None


def _relation(file: CsvFile) -> str:
    columns = ", ".join(f"'c{place}': 'VARCHAR'" for place in range(file.header.width))
    return (
        f"read_csv('{escaped(file.path)}', columns = {{{columns}}}, header = true, auto_detect = false, "
        f"delim = '{file.separator}', quote = '\"', escape = '\"', "
        "store_rejects = true, rejects_table = 'misfits', rejects_scan = 'scans')"
    )
