"""The first sheet of the workbook: what it is, whose, the answers, and which sheet holds what."""

from typing import TYPE_CHECKING, Any

from pipeline.books import hold
from pipeline.report.book.writing import LOOK, Written, for_paper, lines_of
from pipeline.report.drawing.pencils import BLUE, GREY, INK
from pipeline.report.numbers import as_name, counted, day
from pipeline.report.rows.table_rows import Firm
from pipeline.report.sheet import Item
from pipeline.report.words.common import ASSOCIATION, DEFER, firm_name

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

START, CHARTS = "Start", "Charts"
WHAT = (
    "The results of fitback for people who work in a spreadsheet: what readings taken at fitting have to do with "
    "callbacks. The same numbers stand on the pages (pages/index.html) and, complete, in the folder tables."
)
KEPT = (
    "Every run writes this workbook anew, and takes away fitback 2 and the like. To keep what you add, save it under a "
    "name that does not begin with fitback. Nothing in it is a formula, and no customer's name, address or note is "
    "in it."
)
READ = (
    "Over each heading stands the column's name in the tables. '95 % from' and '95 % to' are the ends of the interval "
    "of the value to their left: the truth lies between them 19 times in 20. An empty cell is not known, never zero."
)
NOT_HERE = (
    "Not in here, since it has a row for each door or callback: tables/deviations, limit_decisions, recheck, "
    "callback_causes, linked_callbacks, coded_callbacks and set_aside (.csv and .parquet)."
)
WIDTHS = {"A": 24, "B": 100, "C": 12}


def write_start(book: "Workbook", firm: Firm, answers: tuple[Item, ...], written: list[Written], charts: str) -> None:
    """Fills the first sheet. charts: what the sheet of charts shows; empty where there is none."""
    sheet = book.create_sheet(START, 0)
    sheet.sheet_view.showGridLines = False
    for letter, width in WIDTHS.items():
        sheet.column_dimensions[letter].width = width
    _line(sheet, "fitback", firm_name(firm), _font(16, INK, bold=True))
    _line(sheet, "", f"Records to {day(firm.as_of)}: {counted(firm.doors, 'door')} of {counted(firm.crews, 'crew')}.")
    _line(sheet, "run", firm.run or "")
    _line(sheet, "", WHAT)
    _line(sheet, "", KEPT)
    _head(sheet, "What the records say")
    for answer in answers:
        _line(sheet, answer.lead.rstrip("."), answer.text)
    _line(sheet, "", ASSOCIATION)
    _line(sheet, "", DEFER)
    _list_sheets(sheet, written, charts)
    for_paper(sheet)
    sheet.page_setup.fitToHeight = 1


def _list_sheets(sheet: "Worksheet", written: list[Written], charts: str) -> None:
    _head(sheet, "Sheets", "rows")
    if charts:
        _link(sheet, _line(sheet, CHARTS, charts), CHARTS)
    for one in written:
        row = _line(sheet, one.tab.name, f"{one.tab.says} {one.left}".strip())
        hold(sheet.cell(row, 3), one.rows).number_format = "#,##0"
        sheet.cell(row, 3).alignment = _top(wrap=False)
        _link(sheet, row, one.tab.name)
    _line(sheet, "", READ)
    _line(sheet, "", NOT_HERE)


def _link(sheet: "Worksheet", row: int, target: str) -> None:
    from openpyxl.worksheet.hyperlink import Hyperlink

    cell = sheet.cell(row, 1)
    cell.hyperlink = Hyperlink(ref=cell.coordinate, location=f"'{target}'!A1", display=target)
    cell.font = _font(11, BLUE, underline="single")


def _head(sheet: "Worksheet", text: str, beside: str = "") -> None:
    row = sheet.max_row + 2
    hold(sheet.cell(row, 1), text).font = _font(12, INK, bold=True)
    hold(sheet.cell(row, 3), beside or None).font = _font(9, GREY)


def _line(sheet: "Worksheet", left: str, text: str, font: Any = None) -> int:
    """Writes the next row; its number."""
    row = sheet.max_row + 1 if sheet["B1"].value else 1
    hold(sheet.cell(row, 1), left or None).font = _font(11, GREY)
    hold(sheet.cell(row, 2), as_name(text)).font = font or _font(11, INK)
    for column in (1, 2):
        sheet.cell(row, column).alignment = _top()
    sheet.row_dimensions[row].height = _height(text, 22 if font else 15)
    return row


def _height(text: str, one: int) -> float:
    """Room for the text in the second column: no program agrees with another on what a row needs by itself."""
    return one * lines_of(text, WIDTHS["B"])


def _top(wrap: bool = True) -> Any:
    from openpyxl.styles import Alignment

    return Alignment(vertical="top", wrap_text=wrap)


def _font(size: int, colour: str, **more: Any) -> Any:
    from openpyxl.styles import Font

    return Font(LOOK, size, color=colour[1:], **more)
