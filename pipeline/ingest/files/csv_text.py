"""Reads CSV as text, whatever its encoding, separator and line ends; keeps every row's number.

A row is a row of the spreadsheet: the header is row 1, blank lines count as rows but are not read, a quoted line
break makes no new row. A quote that never closes costs its own row only, not the rest of the file.
"""

import csv
import io
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path

import polars as pl

from pipeline.ingest.files.encodings import Encoding, find_encoding
from pipeline.ingest.files.file_scan import FileScan
from pipeline.ingest.files.headers import Header, Unreadable, find_header, has_columns, heading_name
from pipeline.ingest.files.sheets import PART_ROWS, Part, Row, Sheet, column_names, make_part, parts_of
from pipeline.ingest.judging.cells import BLANKS
from pipeline.ingest.records import Record

SEPARATORS = (",", ";", "\t")
LONGEST_QUOTED_LINES = 200
MOST_COLUMNS = 16_384  # as many as a sheet of a workbook has
_BLOCK = 1 << 22
OPEN_QUOTE = 'a quote (") in the row does not close; close it, or write it twice'
csv.field_size_limit(1 << 30)


@dataclass(frozen=True)
class CsvFile:
    """A CSV file whose header is known. header_row: the spreadsheet row it stands in."""

    path: Path
    encoding: Encoding
    separator: str
    header: Header
    header_row: int


def open_csv(record: Record, path: Path, scan: FileScan | None = None) -> CsvFile:
    """How the file is written and its header. Raises Unreadable where it is empty, not text or lacks a column.

    scan  what is known of the file's bytes
    """
    encoding = find_encoding(path, scan)
    with _opened(path, encoding) as file:
        lines = enumerate(_lines(file), start=1)
        header_row, line = next(((row, line) for row, line in lines if line.strip(" ,;\t")), (0, ""))
    if not header_row:
        raise Unreadable("the file is empty; put the column names in its first row")
    if (most := max(map(line.count, SEPARATORS)) + 1) > MOST_COLUMNS:
        raise Unreadable(
            f"row {header_row} has {most:,} columns, more than a spreadsheet holds ({MOST_COLUMNS:,}); "
            "delete those that are empty and save it again"
        )
    separator = _separator(record, line)
    header = find_header(record, split(line, separator) or [line])
    return CsvFile(path, encoding, separator, header, header_row)


def read_csv(record: Record, path: Path) -> list[Sheet]:
    """The one sheet of a CSV file. Raises Unreadable, as open_csv; its parts do for damaged text."""
    file = open_csv(record, path)
    notes = (file.encoding.note,) if file.encoding.note else ()
    return [Sheet(None, file.header, _parts(record, file), notes)]


def split(line: str, separator: str) -> list[str] | None:
    """The cells of one row; None where a quote in it does not close."""
    if '"' not in line:
        return line.split(separator)
    try:
        found = list(csv.reader(io.StringIO(line, newline=""), delimiter=separator, strict=True))
    except csv.Error:
        return None
    return found[0] if len(found) == 1 else None


def decoded_text(path: Path, most: int = -1) -> tuple[str, str | None]:
    """The text of a file with LF line ends, and what is worth saying about its encoding.

    most  characters to read, up to the last whole line within them; -1: all
    Raises Unreadable where it is empty or not text.
    """
    encoding = find_encoding(path)
    try:
        with path.open(encoding=encoding.name, errors=encoding.errors) as file:
            text = file.read(most)
            text = text.rpartition("\n")[0] if file.read(1) else text
    except UnicodeError:
        raise Unreadable("its text is damaged; save it again as CSV, UTF-8") from None
    return text, encoding.note


def split_rows(text: str, separator: str) -> list[list[str]]:
    """The rows of a text, blank ones too; a quote that never closes costs its own row only."""
    lines = iter(text.split("\n"))
    csv_file = CsvFile(Path(), Encoding("utf-8"), separator, Header({}, 0, ()), 0)
    if '"' not in text:
        return [line.split(separator) for line in lines]
    waiting: deque[str] = deque()
    rows = []
    while (line := waiting.popleft() if waiting else next(lines, None)) is not None:
        cells = _quoted(line, lines, waiting, csv_file) if '"' in line else line.split(separator)
        rows.append(line.split(separator) if cells is None else cells)
    return rows


def plain_part(record: Record, header: Header, after: tuple[int, str], lines: list[str]) -> Part:
    """The lines as a part, none of them with a quote. after: the row before the first line, and the separator."""
    row, separator = after
    frame = pl.DataFrame({"line": lines}).with_row_index("row", offset=row + 1).cast({"row": pl.Int64})
    fits = frame["line"].str.count_matches(separator, literal=True) == header.width - 1
    is_filled = frame["line"].str.strip_chars(BLANKS + separator) != ""
    cells = pl.col("line").str.split_exact(separator, header.width - 1).struct
    fitting = frame.filter(fits & is_filled).select(
        "row",
        *(cells.field(f"field_{header.places[name]}").alias(name) for name in column_names(record, header)),
    )
    others = frame.filter(~fits)
    part = make_part(record, header, ((row, line.split(separator)) for row, line in others.rows()))
    return Part(pl.concat([fitting, part.rows]), part.misfits)


def _parts(record: Record, csv_file: CsvFile) -> Iterator[Part]:
    try:
        with _opened(csv_file.path, csv_file.encoding) as file:
            lines = _lines(file)
            row = sum(1 for _ in islice(lines, csv_file.header_row))
            while some := list(islice(lines, PART_ROWS)):
                if any('"' in line for line in some):
                    yield from parts_of(record, csv_file.header, _rows(chain(some, lines), csv_file, row))
                    return
                yield plain_part(record, csv_file.header, (row, csv_file.separator), some)
                row += len(some)
    except UnicodeError:
        raise Unreadable("its text is damaged; save it again as CSV, UTF-8") from None


def _rows(lines: Iterator[str], csv_file: CsvFile, row: int) -> Iterator[Row]:
    """(row, cells) of every row after `row`; what is wrong with it where a quote does not close."""
    separator = csv_file.separator
    waiting: deque[str] = deque()
    while (line := waiting.popleft() if waiting else next(lines, None)) is not None:
        row += 1
        if '"' in line:
            yield row, _quoted(line, lines, waiting, csv_file) or OPEN_QUOTE
        else:
            yield row, line.split(separator)


def _quoted(line: str, lines: Iterator[str], waiting: deque[str], csv_file: CsvFile) -> list[str] | None:
    """The cells of a row that holds a quote, read on until the quote closes; lines not used go to `waiting`."""
    taken = [line]
    cells = split(line, csv_file.separator)
    while cells is None and len(taken) < LONGEST_QUOTED_LINES:
        more = waiting.popleft() if waiting else next(lines, None)
        if more is None:
            break
        taken.append(more)
        cells = split("\n".join(taken), csv_file.separator)
    width = csv_file.header.width or len(cells or [])
    if len(taken) > 1 and (cells is None or len(cells) != width):
        # the quote was not meant to go on over these lines: they are rows of their own
        waiting.extendleft(reversed(taken[1:]))
        return None
    return cells


def _opened(path: Path, encoding: Encoding) -> io.TextIOWrapper:
    return path.open(encoding=encoding.name, errors=encoding.errors, newline="")


def _lines(file: io.TextIOBase) -> Iterator[str]:
    """Lines without their ends. LF, CR LF and, where a file has no LF at all, CR end a line; nothing else does."""
    block = file.read(_BLOCK)
    end = "\r" if "\r" in block and "\n" not in block else "\n"
    kept = ""
    while block:
        text = kept + block
        *whole, kept = text.split(end)
        yield from (line.removesuffix("\r") for line in whole) if "\r" in text else whole
        block = file.read(_BLOCK)
    if kept:
        yield kept.removesuffix("\r")


def _separator(record: Record, line: str) -> str:
    """The separator that gives every required column, else the most columns; a comma where none is better."""
    cells = {separator: split(line, separator) or [] for separator in SEPARATORS}
    known = {column.name for column in record.columns}

    def merit(separator: str) -> tuple[bool, int]:
        names = [heading_name(cell) for cell in cells[separator]]
        return has_columns(record, cells[separator]), sum(name in known for name in names)

    return max(SEPARATORS, key=merit)
