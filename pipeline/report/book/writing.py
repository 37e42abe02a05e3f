"""Writes the sheets of the workbook: heading with filter, formats, widths, a pane that stays, and paper to print on.

Text stays text whatever it begins with (pipeline.books); there is no formula anywhere in the workbook.
"""

from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import TYPE_CHECKING, Any

from pipeline.books import hold
from pipeline.report.book.tab import DAY, FLAG, FORMATS, LONG, MOST_ROWS, WIDTHS, Column, Tab
from pipeline.report.drawing.pencils import BLUE, GREY, INK, LINE
from pipeline.report.numbers import as_name, count
from pipeline.report.reading import Results

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

NAMES_ROW, HEAD_ROW = 4, 5
LINE_HEIGHT, HEAD_HEIGHT, MOST_LINES = 15, 48, 12
LOOK = "Calibri"  # what a cell has where nothing is said, so that all are alike
PAGE_WIDTH = 190  # characters across a page that can still be read


@dataclass(frozen=True)
class Written:
    """A sheet that is there. rows: how many it shows; left: what it does not show, in a sentence, or nothing."""

    tab: Tab
    rows: int
    left: str


def write_tab(book: "Workbook", tab: Tab, results: Results) -> Written | None:
    """Writes one sheet; None, and no sheet, where there is no row to show."""
    rows, n_shown, n_all = results.rows(tab.query, tab.source, MOST_ROWS)
    if not rows:
        return None
    left = _left_out(tab, len(rows), n_shown, n_all)
    sheet = book.create_sheet(tab.name)
    _say(sheet, tab, left)
    for number, column in enumerate(tab.columns, 1):
        _head(sheet, number, column)
    for row, values in enumerate(rows, HEAD_ROW + 1):
        _write_row(sheet, row, tab.columns, values)
    sheet.row_dimensions[HEAD_ROW].height = HEAD_HEIGHT
    _finish(sheet, tab, len(rows))
    return Written(tab, len(rows), left)


def _left_out(tab: Tab, n_written: int, n_shown: int, n_all: int) -> str:
    """What the sheet does not show: the rest beyond what people read, and rows that say nothing yet."""
    beside = f"tables/{tab.table}.csv has all."
    cut = f"Here stand the first {count(n_written)} of {count(n_shown)} rows. " if n_written < n_shown else ""
    others = f"Left out: {count(n_all - n_shown)} rows {tab.others}. " if n_all > n_shown and tab.others else ""
    return f"{cut}{others}{beside}" if cut or others else ""


def _say(sheet: "Worksheet", tab: Tab, left: str) -> None:
    """What the sheet is, over its columns."""
    from openpyxl.styles import Font

    lines = ((tab.says, Font(LOOK, 12, bold=True, color=INK[1:])), (tab.how, _quiet()), (left, _quiet()))
    for row, (text, font) in enumerate(lines, 1):
        hold(sheet.cell(row, 1), text or None).font = font


def _quiet() -> Any:
    from openpyxl.styles import Font

    return Font(LOOK, 9, color=GREY[1:])


def _head(sheet: "Worksheet", number: int, column: Column) -> None:
    """The heading in plain words, and above it the name that the column has in the tables."""
    from openpyxl.styles import Alignment, Border, Font, Side
    from openpyxl.utils import get_column_letter

    side = "right" if column.form in FORMATS and column.form != DAY else "left"
    name = hold(sheet.cell(NAMES_ROW, number), column.name)
    name.font, name.alignment = Font(LOOK, 8, color=GREY[1:]), Alignment(side)
    cell = hold(sheet.cell(HEAD_ROW, number), column.heading)
    cell.font = Font(LOOK, 10, bold=True, color=BLUE[1:])
    cell.alignment = Alignment(side, "bottom", wrap_text=True)
    cell.border = Border(bottom=Side("thin", color=INK[1:]))
    sheet.column_dimensions[get_column_letter(number)].width = WIDTHS[column.form]


def _write_row(sheet: "Worksheet", row: int, columns: tuple[Column, ...], values: tuple[Any, ...]) -> None:
    n_lines = 1
    for number, (column, value) in enumerate(zip(columns, values, strict=True), 1):
        if value is None:
            continue
        cell = hold(sheet.cell(row, number), _shown(column, value))
        if column.form in FORMATS:
            cell.number_format = FORMATS[column.form]
        elif column.form == LONG and (needed := lines_of(value, WIDTHS[LONG])) > 1:
            n_lines = max(n_lines, needed)
    if n_lines > 1:
        sheet.row_dimensions[row].height = LINE_HEIGHT * min(n_lines, MOST_LINES)
        for number in range(1, len(columns) + 1):
            sheet.cell(row, number).alignment = _wrapped()


def lines_of(text: str, width: int) -> int:
    """Lines that a text needs in a column: no program agrees with another on that, so that it must be said."""
    return 1 + int(len(text) / (1.2 * width))


@cache
def _wrapped() -> Any:
    from openpyxl.styles import Alignment

    return Alignment(vertical="top", wrap_text=True)


def _shown(column: Column, value: Any) -> str | float | date:
    if column.form == FLAG:
        return "yes" if value else "no"
    return _name(value) if isinstance(value, str) else value


@cache
def _name(text: str) -> str:
    """The text on one line; the same few stand in thousands of cells."""
    return as_name(text)


def _finish(sheet: "Worksheet", tab: Tab, n_rows: int) -> None:
    """The pane that stays, the filter, and A4 across with the heading on every page."""
    from openpyxl.utils import get_column_letter

    last = get_column_letter(len(tab.columns))
    sheet.freeze_panes = f"{get_column_letter(tab.frozen + 1)}{HEAD_ROW + 1}"
    sheet.auto_filter.ref = f"A{HEAD_ROW}:{last}{HEAD_ROW + n_rows}"
    sheet.sheet_view.showGridLines = False
    sheet.sheet_properties.tabColor = LINE[1:]
    for_paper(sheet, 1 + sum(WIDTHS[column.form] for column in tab.columns) // PAGE_WIDTH)
    sheet.print_title_rows = f"{HEAD_ROW}:{HEAD_ROW}"
    sheet.print_title_cols = f"A:{get_column_letter(tab.frozen)}"


def for_paper(sheet: "Worksheet", n_across: int = 1) -> None:
    """A4 across, so many pages beside one another."""
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = n_across, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
