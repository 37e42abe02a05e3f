"""What every reader gives: the rows of one sheet of one file as text, in parts, with the rows that do not fit."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import polars as pl

from pipeline.ingest.headers import Header
from pipeline.ingest.records import Record

PART_ROWS = 200_000


@dataclass
class Part:
    """Some rows of a sheet. rows: `row` (the spreadsheet's, header = 1) and text columns named as the record's.

    misfits: (row, cells it has) of rows that are longer or shorter than the header.
    """

    rows: pl.DataFrame
    misfits: list[tuple[int, int]] = field(default_factory=list)

    @property
    def n_rows(self) -> int:
        """Rows read, blank ones not counted."""
        return self.rows.height + len(self.misfits)


@dataclass(frozen=True)
class Sheet:
    """One sheet of a file, or a file that has no sheets (name None). notes: what is worth saying about the reading."""

    name: str | None
    header: Header
    parts: Iterator[Part]
    notes: tuple[str, ...] = ()


def column_names(record: Record, header: Header) -> list[str]:
    """The record's columns that a sheet has, in the record's order."""
    return [column.name for column in record.columns if column.name in header.places]


def part_of(record: Record, header: Header, rows: list[tuple[int, list[str]]], misfits: list[tuple[int, int]]) -> Part:
    """A part made of rows of cells, each as long as the header at least."""
    data: dict[str, object] = {"row": pl.Series([row for row, _ in rows], dtype=pl.Int64)}
    for name in column_names(record, header):
        place = header.places[name]
        data[name] = pl.Series([cells[place] for _, cells in rows], dtype=pl.String)
    return Part(pl.DataFrame(data), misfits)
