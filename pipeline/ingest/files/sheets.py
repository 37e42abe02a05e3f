"""What every reader gives: the rows of one sheet of one file as text, in parts, with the rows that do not fit."""

import hashlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import chain, islice
from typing import NamedTuple

import polars as pl

from pipeline.ingest.files.headers import Header
from pipeline.ingest.files.unread import Unread
from pipeline.ingest.judging.cells import BLANKS
from pipeline.ingest.records import Record

PART_ROWS = 200_000

# A row of cells and its number; what is wrong with it where it cannot be split into cells.
Row = tuple[int, list[str] | str]
_PRINT_DIGITS = 3


class Misfit(NamedTuple):
    """A row that does not fit the header. fault: how many cells it has, or what else is wrong with it.

    print  tells that the row is another, and nothing of its text; empty where its cells could not be told apart
    """

    row: int
    fault: int | str
    print: str = ""


@dataclass
class Part:
    """Some rows of a sheet. rows: `row` (the spreadsheet's, header = 1) and text columns named as the record's.

    misfits: the rows that do not fit the header.
    """

    rows: pl.DataFrame
    misfits: list[Misfit] = field(default_factory=list)

    @property
    def n_rows(self) -> int:
        """Rows read, blank ones not counted."""
        return self.rows.height + len(self.misfits)


@dataclass(frozen=True)
class Sheet:
    """One sheet of a file, or a file that has no sheets (name None). notes: what is worth saying about the reading.

    headings  of a firm's own sheet: (column of the sheet from 1, or 0 for all rows; column of the record; heading)
    unread    headings that nothing is read from, told once a sheet of a file
    year      the one that title, sheet and file say of the days
    days      of a form, the columns of days of all filled in on it: they show together which part is the month
    beside    gives the days of all sheets of the file, for columns that do not show it themselves; None: there are none
    """

    name: str | None
    header: Header
    parts: Iterator[Part]
    notes: tuple[str, ...] = ()
    headings: tuple[tuple[int, str, str], ...] = ()
    unread: tuple[Unread, ...] = ()
    days: pl.DataFrame | None = None
    year: int | None = None
    beside: Callable[[], frozenset[str]] | None = None


def column_names(record: Record, header: Header) -> list[str]:
    """The record's columns that a sheet has, in the record's order."""
    return [column.name for column in record.columns if column.name in header.places]


def make_part(record: Record, header: Header, rows: Iterable[Row]) -> Part:
    """The rows as a part: blank rows fall away, rows longer or shorter than the header are misfits.

    A surplus of empty cells at the end of a row is none.
    """
    fitting: list[tuple[int, list[str]]] = []
    misfits: list[Misfit] = []
    for row, cells in rows:
        if isinstance(cells, str):
            misfits.append(Misfit(row, cells))
        elif len(cells) == header.width and cells[0].strip(BLANKS):
            fitting.append((row, cells))
        elif n_filled := _filled(cells):
            n_cells = max(min(len(cells), header.width), n_filled)
            fits = n_cells == header.width
            fitting.append((row, cells)) if fits else misfits.append(Misfit(row, n_cells, _print(cells[:n_filled])))
    return _part(record, header, fitting, misfits)


def parts_of(record: Record, header: Header, rows: Iterator[Row]) -> Iterator[Part]:
    """The rows as parts of PART_ROWS, so that no more than one is in memory."""
    for first in rows:
        yield make_part(record, header, chain([first], islice(rows, PART_ROWS - 1)))


def _print(cells: list[str]) -> str:
    text = "\0".join(cell.strip(BLANKS) for cell in cells)
    return hashlib.sha256(text.encode(errors="replace")).hexdigest()[:_PRINT_DIGITS]


def _filled(cells: list[str]) -> int:
    """Cells up to the last that holds something."""
    n_cells = len(cells)
    while n_cells and not cells[n_cells - 1].strip(BLANKS):
        n_cells -= 1
    return n_cells


def _part(record: Record, header: Header, rows: list[tuple[int, list[str]]], misfits: list[Misfit]) -> Part:
    """A part made of rows of cells, each as long as the header at least."""
    data: dict[str, object] = {"row": pl.Series([row for row, _ in rows], dtype=pl.Int64)}
    for name in column_names(record, header):
        place = header.places[name]
        data[name] = pl.Series([cells[place] for _, cells in rows], dtype=pl.String)
    return Part(pl.DataFrame(data), misfits)
