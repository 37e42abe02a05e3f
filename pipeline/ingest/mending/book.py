"""Writes set_aside.xlsx: a sheet per record, a line for every row that is set aside or has a cell left empty.

Holds no personal cell. Written anew where what it shows has changed, or where somebody saved it; never over a workbook
that is open elsewhere: then under a numbered name beside it.
"""

import hashlib
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from pipeline.books import held_cell, is_open_elsewhere, save_book
from pipeline.ingest.history.row_keys import row_of
from pipeline.ingest.history.store import with_frame
from pipeline.ingest.mending.ledger import as_json
from pipeline.ingest.mending.lines import Line, lines_of
from pipeline.ingest.records import DAY, NUMBER, WHOLE, Record

if TYPE_CHECKING:
    import duckdb
    from openpyxl import Workbook

BOOK = "set_aside.xlsx"
NOT_TAKEN = "set_aside not taken"
NAMES = (BOOK, *(f"set_aside {number}.xlsx" for number in range(2, 100)))

REASON, FILE, SHEET, ROW, HEADING, WHO, MARK = "reason", "file", "sheet", "row", "heading", "who", "line"
HELP_SHEET = "how"
HELP = (
    "Correct the coloured cells, or any other cell of the line, save, and run fitback again: the row comes in as you "
    "left it. Your own file stays as it is.",
    "Lines that you leave alone, sort otherwise or delete change nothing. Leave file, sheet, row and line as they are: "
    "they say which row it is.",
    "Empty a coloured cell that is not needed where its value is not known. Write your name into who, if it should not "
    "be the name you log in with.",
    "Rows that contradict one another: make them say the same, or correct the number of the one that is another door.",
    "Names, addresses, postcodes and notes do not stand here: correct them in your own file. A row whose cells could "
    "not be told apart stands here empty; write in what it says.",
    "Where your file comes again with the row changed, the file counts and the correction does not any more. A row "
    "that only stands elsewhere in its sheet is found again.",
    "A row whose reason begins 'door ... is set aside' comes in by itself once that door does.",
)
_WIDTHS = {REASON: 60, FILE: 22, HEADING: 18, MARK: 15}
_FAULT, _HEAD = "FFFFE08A", "FFE8E8E8"


def books_in(out: Path) -> list[Path]:
    """The set-aside workbooks of an output folder, the one last saved at the end."""
    found = [path for path in out.glob("set_aside*.xlsx") if path.name in NAMES]
    return sorted(found, key=lambda path: (path.stat().st_mtime_ns, path.name))


def write_set_aside(connection: "duckdb.DuckDBPyConnection", out: Path) -> list[str]:
    """Writes the workbook where it has to change, takes it away where nothing is set aside. Returns what to tell.

    connection  the one on which `write_rejections` found what is set aside, outside a transaction
    """
    shown = lines_of(connection)
    if not shown:
        connection.execute("DELETE FROM set_aside_book")
        _take_away(books_in(out))
        return []
    content = _content(shown)
    before = connection.execute("SELECT name, content, file_hash FROM set_aside_book").fetchall()
    if before and before[0][1] == content and _is_as_written(out, before[0][0], before[0][2]):
        return _told(shown, before[0][0])
    _remember(connection, shown)
    path = save_book(_book(shown), *(out / name for name in NAMES))
    connection.execute("DELETE FROM set_aside_book")
    connection.execute("INSERT INTO set_aside_book VALUES (?, ?, ?)", [path.name, content, hash_of(path)])
    _take_away([book for book in books_in(out) if book != path])
    return _told(shown, path.name)


def keep_not_taken(book: Path) -> str:
    """Copies a workbook of which something could not be taken in, before it is written anew; the copy's name."""
    names = (f"{NOT_TAKEN}{f' {number}' if number > 1 else ''}.xlsx" for number in range(1, 10_000))
    name = next(name for name in names if not book.with_name(name).exists())
    shutil.copyfile(book, book.with_name(name))
    return name


def _told(shown: dict[Record, tuple[list[Line], int]], name: str) -> list[str]:
    n_rows = sum(count for _, count in shown.values())
    n_lines = sum(len(lines) for lines, _ in shown.values())
    which = (
        "1 row is set aside or has a cell left empty; correct it"
        if n_rows == 1
        else (f"{n_rows:,} rows are set aside or have a cell left empty; correct them")
    )
    part = f" (it shows {n_lines:,}, and others once those are mended)" if n_lines < n_rows else ""
    told = [f"{which} in {name}{part}, beside the results, and run again."]
    if name != BOOK:
        told.append(f"{BOOK} is open in another program, so this run wrote {name}; close the first and use the second.")
    return told


def _is_as_written(out: Path, name: str, file_hash: str) -> bool:
    """Whether the workbook lies as it was written, under the best name that is free."""
    path = out / name
    has_way = name == BOOK or is_open_elsewhere(out / BOOK)
    return has_way and path.is_file() and hash_of(path) == file_hash


def _content(shown: dict[Record, tuple[list[Line], int]]) -> str:
    texts = [
        (record.name, count, [(one.mark, one.reason) for one in lines]) for record, (lines, count) in shown.items()
    ]
    return hashlib.sha256(repr((texts, HELP)).encode()).hexdigest()


def hash_of(path: Path) -> str:
    """What tells a saved workbook from the one that was written."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _remember(connection: "duckdb.DuckDBPyConnection", shown: dict[Record, tuple[list[Line], int]]) -> None:
    """Keeps what each line shows, so that a changed cell can be told when the line comes back."""
    rows = [
        (
            *(line.mark, line.place.record, line.place.file, line.place.sheet, line.place.key, line.heading),
            *(line.content_hash, as_json(line.cells), ",".join(line.faults)),
        )
        for lines, _ in shown.values()
        for line in lines
    ]
    names = ("line", "record", "file", "sheet", "row_key", "heading", "content_hash", "cells", "faults")
    schema = {name: pl.Int64 if name == "row_key" else pl.String for name in names}
    frame = pl.DataFrame(rows, schema=schema, orient="row")
    with_frame(
        connection,
        frame,
        "INSERT INTO shown_lines BY NAME FROM incoming WHERE line NOT IN (SELECT line FROM shown_lines)",
    )


def _take_away(books: list[Path]) -> None:
    for book in books:
        if not is_open_elsewhere(book):
            try:
                book.unlink(missing_ok=True)
            except PermissionError:
                continue  # open elsewhere: it stays until it is closed


def _book(shown: dict[Record, tuple[list[Line], int]]) -> "Workbook":
    from openpyxl import Workbook
    from openpyxl.utils import get_column_letter

    book = Workbook(write_only=True)
    for record, (lines, _) in shown.items():
        sheet = book.create_sheet(record.name)
        columns = columns_of(record)
        for number, column in enumerate(columns, 1):
            sheet.column_dimensions[get_column_letter(number)].width = _WIDTHS.get(column, 14)
        sheet.freeze_panes = "B2"
        for cells in _rows(sheet, record, columns, lines):
            sheet.append(cells)
    how = book.create_sheet(HELP_SHEET)
    how.column_dimensions["A"].width = 120
    for text in HELP:
        how.append([text])
    return book


def columns_of(record: Record) -> list[str]:
    """The columns of a record's sheet."""
    return [REASON, FILE, SHEET, ROW, HEADING, WHO, *(column.name for column in record.kept), MARK]


def _rows(sheet: Any, record: Record, columns: list[str], lines: list[Line]) -> Iterator[list[Any]]:
    from openpyxl.styles import PatternFill

    head, fault = (PatternFill("solid", fgColor=colour) for colour in (_HEAD, _FAULT))
    texts = {column.name for column in record.kept if column.kind not in (NUMBER, WHOLE, DAY)}

    def cell(value: object, column: str, fill: PatternFill | None) -> Any:
        made = held_cell(sheet, value)
        if column in texts:
            made.number_format = "@"  # what is typed here stays text: 007, 1-2
        if fill is not None:
            made.fill = fill
        return made

    yield [cell(column, "", head) for column in columns]
    for line in lines:
        said = {
            **line.cells,
            REASON: line.reason,
            FILE: line.place.file,
            SHEET: line.place.sheet,
            ROW: row_of(line.place.key),
            HEADING: line.heading,
            MARK: line.mark,
        }
        yield [cell(said.get(name), name, fault if name in line.faults else None) for name in columns]
