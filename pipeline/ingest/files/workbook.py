"""Reads XLSX as text: every visible sheet whose first filled row has the record's columns.

Cells of dates become ISO days and, in a date column, serial numbers of the workbook's own epoch do too.
"""

import re
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.ingest.files.comments import comments_told
from pipeline.ingest.files.headers import CANNOT_OPEN, Header, Unreadable, find_header, has_columns
from pipeline.ingest.files.no_workbook import DAMAGED, NOT_A_WORKBOOK, why_no_workbook
from pipeline.ingest.files.sheets import Sheet, parts_of
from pipeline.ingest.files.unshown_cells import unshown_told
from pipeline.ingest.files.workbook_size import BROKEN_ARCHIVE, check_size
from pipeline.ingest.records import DAY, NUMBER, Record
from pipeline.ingest.texts.dates import EPOCH_1900, EPOCH_1904, day_of_serial

if TYPE_CHECKING:
    from python_calamine import CalamineSheet, CalamineWorkbook

_IS_1904 = re.compile(rb"""<(?:\w+:)?workbookPr\b[^>]*\bdate1904\s*=\s*["'](?:1|true|on)["']""")


def read_workbook(record: Record, path: Path) -> list[Sheet]:
    """The sheets of a workbook that hold the record. Raises Unreadable where it is none, or no sheet does."""
    with opened_workbook(path) as (workbook, visible, epoch):
        return _sheets(record, workbook, visible, epoch, unread_told(path))


@contextmanager
def opened_workbook(path: Path) -> Iterator[tuple["CalamineWorkbook", list[str], str]]:
    """A workbook, the names of its visible sheets and its epoch. Raises Unreadable for what is no workbook."""
    from python_calamine import CalamineError, PasswordError, SheetTypeEnum, SheetVisibleEnum, load_workbook

    epoch = _epoch(path)
    try:
        workbook = load_workbook(str(path))
        visible = [
            sheet.name
            for sheet in workbook.sheets_metadata
            if sheet.visible == SheetVisibleEnum.Visible and sheet.typ == SheetTypeEnum.WorkSheet
        ]
        yield workbook, visible, epoch
    except PasswordError:
        raise Unreadable("the workbook is locked by a password; save it without one") from None
    except CalamineError:
        raise Unreadable(DAMAGED) from None


def hidden_sheets(workbook: "CalamineWorkbook") -> list[str]:
    """The names of the sheets of cells that a workbook does not show."""
    from python_calamine import SheetTypeEnum, SheetVisibleEnum

    sheets = [sheet for sheet in workbook.sheets_metadata if sheet.typ == SheetTypeEnum.WorkSheet]
    return [sheet.name for sheet in sheets if sheet.visible != SheetVisibleEnum.Visible]


def unread_told(path: Path) -> tuple[str, ...]:
    """What is worth telling of cells of an opened workbook that are not read: comments, formulas that show nothing."""
    told: list[str] = []
    with suppress(*BROKEN_ARCHIVE, OSError), zipfile.ZipFile(path) as archive:
        for tell in (comments_told, unshown_told):
            told += tell(archive)
    return tuple(told)


def _sheets(
    record: Record, workbook: "CalamineWorkbook", names: list[str], epoch: str, told: tuple[str, ...]
) -> list[Sheet]:
    """The sheets that hold the record. told: what is worth saying of the workbook."""
    found, others, refusal = [], [], None
    for name in names:
        sheet = workbook.get_sheet_by_name(name)
        row, cells = _first_row(sheet)
        if not cells:
            continue
        if not has_columns(record, cells):
            others.append(name)
            refusal = refusal or _refusal(record, cells)
            continue
        header = find_header(record, cells)
        found.append((name, header, _rows(record, header, sheet, row, epoch)))
    if not found:
        raise Unreadable(refusal or "the workbook is empty; put the column names in the first row of a sheet")
    note = f"sheet {', '.join(others)} not read: its first row does not hold the columns of {record.name}"
    notes = (note, *told) if others else told
    return [
        Sheet(name, header, parts_of(record, header, rows), notes if number == 0 else ())
        for number, (name, header, rows) in enumerate(found)
    ]


def _refusal(record: Record, cells: list[str]) -> str:
    try:
        find_header(record, cells)
    except Unreadable as error:
        return str(error)
    return NOT_A_WORKBOOK


def _first_row(sheet: "CalamineSheet") -> tuple[int, list[str]]:
    """(row number, its cells as text) of the first filled row; (0, []) where there is none."""
    for row, cells in enumerate(sheet.iter_rows(), start=1):
        texts = [cell_text(cell) for cell in cells]
        if any(texts):
            while not texts[-1]:
                texts.pop()
            return row, texts
    return 0, []


def _rows(
    record: Record, header: Header, sheet: "CalamineSheet", header_row: int, epoch: str
) -> Iterator[tuple[int, list[str]]]:
    kinds = {header.places[name]: record.column(name).kind for name in header.places}
    for row, cells in enumerate(sheet.iter_rows(), start=1):
        if row > header_row:
            texts = [text_for(kinds.get(place), cell, epoch) for place, cell in enumerate(cells)]
            yield row, texts + [""] * (header.width - len(texts))


def text_for(kind: str | None, cell: object, epoch: str) -> str:
    """A cell as text, as the kind of its column needs it."""
    if kind == DAY:
        return day_text(cell, epoch)
    return number_text(cell) if kind == NUMBER else cell_text(cell)


def number_text(cell: object) -> str:
    """A cell of a number column as text. A number with decimals gets an exponent: its point is in no doubt then."""
    text = cell_text(cell)
    is_typed = isinstance(cell, float) and "." in text and "e" not in text
    return f"{text}e0" if is_typed else text


def day_text(cell: object, epoch: str) -> str:
    """A cell of a date column as text: serial numbers become ISO days."""
    if isinstance(cell, float | int) and not isinstance(cell, bool):
        day = day_of_serial(float(cell), epoch)
        return day.isoformat() if day else cell_text(cell)
    return cell_text(cell)


def cell_text(cell: object) -> str:
    """A cell as it would stand in a CSV: days ISO, numbers in their shortest form, truth as TRUE or FALSE."""
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, bool):
        return str(cell).upper()
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, time | timedelta):
        return str(cell)
    return str(cell)


def _epoch(path: Path) -> str:
    """The workbook's epoch. Raises Unreadable for what is no workbook, and for one that takes too much memory."""
    try:
        with zipfile.ZipFile(path) as archive:
            check_size(archive)
            is_1904 = bool(_IS_1904.search(archive.read("xl/workbook.xml")))
    except PermissionError:
        raise Unreadable(CANNOT_OPEN) from None
    except (*BROKEN_ARCHIVE, OSError):
        raise Unreadable(why_no_workbook(path)) from None
    return EPOCH_1904 if is_1904 else EPOCH_1900
