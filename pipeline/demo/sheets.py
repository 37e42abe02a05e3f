"""XLSX files that come out the same every time: the time of writing is taken out of them."""

import re
from datetime import date, datetime
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import polars as pl

LONG_AGO = (1980, 1, 1, 0, 0, 0)
_CLOCK = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")


def write_sheet(table: pl.DataFrame, path: Path) -> None:
    """One table as a workbook of one sheet. Texts that are numbers or ISO dates become such cells."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet(path.stem.split()[0])
    sheet.append(table.columns)
    for row in table.iter_rows():
        sheet.append([_cell(value) for value in row])
    book.save(path)
    _settle(path)


def _cell(value: object) -> object:
    if not isinstance(value, str):
        return value
    if re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])", value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            return value
    return float(value) if re.fullmatch(r"-?\d+(\.\d+)?", value) else value


def _settle(path: Path) -> None:
    """Takes the time of writing out of the file."""
    with ZipFile(path) as book:
        members = [(name, book.read(name)) for name in sorted(book.namelist())]
    stamp = datetime(*LONG_AGO).strftime("%Y-%m-%dT%H:%M:%SZ").encode()
    with ZipFile(path, "w", ZIP_DEFLATED) as book:
        for name, content in members:
            settled = _CLOCK.sub(rb"\g<1>" + stamp, content) if name.endswith("core.xml") else content
            book.writestr(ZipInfo(name, LONG_AGO), settled)
