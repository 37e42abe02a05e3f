"""Workbooks that people fill in and that are read back: what may stand in a cell, and how one is put in place.

Text that a spreadsheet would run gets an apostrophe, which goes again on the way back. A workbook that is open in
another program is never written over: what is typed into it there would be lost.
"""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.export import FORMULA_START
from pipeline.ingest.cells import GUARDED

if TYPE_CHECKING:
    from openpyxl import Workbook

# What no workbook can hold, in XML or in the cells of one.
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
# What a workbook takes for a character by its number: _x000D_.
_ESCAPE = re.compile(r"_(x[0-9A-Fa-f]{4}_)")
LONGEST_CELL = 32_767


def safe_cell(value: object) -> object:
    """The value as a cell that no spreadsheet runs; control characters, which a workbook cannot hold, are blanks."""
    if not isinstance(value, str):
        return value
    text = _CONTROL.sub(" ", value)
    return (f"'{text}" if re.match(FORMULA_START, text) else text)[:LONGEST_CELL]


def held_cell(sheet: Any, value: object) -> Any:
    """A cell of a sheet that is being written, whose text stays text: no formula, no error, no escape of ours."""
    from openpyxl.cell import WriteOnlyCell

    cell = WriteOnlyCell(sheet, safe_cell(value))
    if isinstance(value, str):
        cell.value = _ESCAPE.sub(r"_x005F_\1", cell.value)
        cell.data_type = "s"
    return cell


def unguarded(text: str) -> str:
    """The text of a cell without the apostrophe that kept it from being run."""
    return re.sub(GUARDED, r"\1", text)


def is_open_elsewhere(path: Path) -> bool:
    """Whether the mark lies beside a workbook that spreadsheet programs leave there while they hold it."""
    return any(path.with_name(name).exists() for name in (f"~${path.name}", f".~lock.{path.name}#"))


def save_book(book: "Workbook", *paths: Path) -> Path:
    """Puts a workbook in place as a whole, under the first of the paths that no other program holds; which it was.

    paths  in one folder
    Raises PermissionError where all of them are held.
    """
    free = [path for path in paths if not is_open_elsewhere(path)]
    aside = paths[0].with_name(f".{paths[0].name}")
    if free:
        book.save(aside)
    for path in free:
        try:
            aside.replace(path)
        except PermissionError:
            continue
        return path
    aside.unlink(missing_ok=True)
    raise PermissionError(paths[0])
