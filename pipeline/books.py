"""Workbooks: what may stand in a cell, and how one is put in place.

Text that a spreadsheet would run gets an apostrophe, which goes again on the way back. A workbook that is open in
another program is never written over: what is typed into it there would be lost.
"""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from openpyxl import Workbook

FORMULA_START = r"^[=+\-@\t\r]"
# Text that a spreadsheet would take for a formula gets an apostrophe in our own files; on the way back it goes.
GUARDED = r"^'([=+\-@\t\r])"

# What no workbook can hold, in XML or in the cells of one.
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
# What a workbook takes for a character by its number: _x000D_.
_ESCAPE = re.compile(r"_(x[0-9A-Fa-f]{4}_)")
LONGEST_CELL = 32_767
MAKER = "fitback"  # the creator that a workbook of results names


def safe_cell(value: object) -> object:
    """The value as a cell that no spreadsheet runs; control characters, which a workbook cannot hold, are blanks."""
    if not isinstance(value, str):
        return value
    return guarded(_CONTROL.sub(" ", value))[:LONGEST_CELL]


def held_cell(sheet: Any, value: object) -> Any:
    """A cell of a sheet that is being written, whose text stays text: no formula, no error, no escape of ours."""
    from openpyxl.cell import WriteOnlyCell

    return hold(WriteOnlyCell(sheet), value)


def hold(cell: Any, value: object) -> Any:
    """Gives a cell its value so that text stays text, as `held_cell` does; the cell."""
    safe = safe_cell(value)
    cell.value = _ESCAPE.sub(r"_x005F_\1", safe) if isinstance(safe, str) else safe
    if isinstance(value, str):
        cell.data_type = "s"
    return cell


def guarded(text: str) -> str:
    """The text with an apostrophe before it where a spreadsheet would run it."""
    return f"'{text}" if re.match(FORMULA_START, text) else text


def unguarded(text: str) -> str:
    """The text of a cell without the apostrophe that kept it from being run."""
    return re.sub(GUARDED, r"\1", text)


def is_open_elsewhere(path: Path) -> bool:
    """Whether the mark lies beside a workbook that spreadsheet programs leave there while they hold it."""
    return any(path.with_name(name).exists() for name in (f"~${path.name}", f".~lock.{path.name}#"))


def is_made_by_us(path: Path) -> bool:
    """Whether a workbook of results is one that fitback wrote, be it saved since by another program."""
    from zipfile import BadZipFile, ZipFile

    try:
        with ZipFile(path) as parts:
            return f"creator>{MAKER}<".encode() in parts.read("docProps/core.xml")
    except (BadZipFile, KeyError, OSError):
        return False


def save_book(book: "Workbook", *paths: Path) -> Path:
    """Puts a workbook in place as a whole, under the first of the paths that no other program holds; which it was.

    paths  in one folder
    Raises PermissionError where all of them are held.
    """
    aside = paths[0].with_name(f".{paths[0].name}")
    book.save(aside)
    try:
        return place_book(aside, *paths)
    except PermissionError:
        aside.unlink(missing_ok=True)
        raise


def place_book(made: Path, *paths: Path) -> Path:
    """Moves a workbook that is written to the first of the paths that no other program holds; which it was.

    Raises PermissionError where all of them are held.
    """
    for path in paths:
        if not is_open_elsewhere(path):
            try:
                made.replace(path)
            except PermissionError:
                continue
            return path
    raise PermissionError(paths[0])
