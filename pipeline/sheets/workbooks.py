"""The blank sheets as workbooks: canonical columns, prefilled but for what the fitter writes, limits as cell checks.

The column sheet_line tells the reader of records that a line without a value was not filled in. Who, when and which
door are written once, at the top; each cell below copies the one above it, so a new day is written where it begins.
Nothing is protected: a formula may be overwritten.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.catalogue.rows import Catalogue
from pipeline.ingest.files.blank_lines import LINE
from pipeline.report.drawing.pencils import BLUE, GREY, RED
from pipeline.report.drawing.pencils import LINE as PALE
from pipeline.sheets.formulas import VALUE, cell_formulas
from pipeline.sheets.groups import Place, Reading, Seen, Step, numbered

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

READING_COLUMNS = {
    LINE: 10, "step": 11, "where_to_read": 44, "measure": 18, "member": 11, "station": 9, "position_mm": 12,
    "value": 11, "unit": 7, "limit": 50, "install_id": 14, "instrument": 12, "read_on": 12, "read_by": 14, "source": 44,
}  # fmt: skip
CHECK_COLUMNS = {
    LINE: 10, "step": 11, "check": 22, "member": 10, "outcome": 16, "fails_if": 60, "install_id": 14, "checked_on": 12,
}  # fmt: skip
TO_FILL = ("value", "outcome", "install_id", "instrument", "read_on", "read_by", "checked_on")
DAYS = ("read_on", "checked_on")
LONGEST_PROMPT, LONGEST_FORMULA = 250, 255


class _Formula(str):
    """A text that a spreadsheet works out. Any other is guarded against being taken for one."""


def _guarded(text: object) -> str:
    """The text, with an apostrophe before what a spreadsheet would work out; taken off again on the way back."""
    return f"'{text}" if str(text).startswith(("=", "+", "-", "@", "\t", "\r")) else str(text)


@dataclass
class _Writer:
    """A worksheet being filled from the top. row: the last written; install_id: empty where the fitter writes it."""

    sheet: "Worksheet"
    columns: dict[str, int]
    install_id: str
    row: int = 1

    def letter(self, name: str) -> str:
        return chr(ord("A") + list(self.columns).index(name))

    def put(self, values: dict[str, object]) -> int:
        """Writes the next row; returns its number."""
        self.row += 1
        for name, value in values.items():
            cell = self.sheet[f"{self.letter(name)}{self.row}"]
            is_text = isinstance(value, str) and not isinstance(value, _Formula)
            cell.value = _guarded(value) or None if is_text else value
        return self.row

    def say_once(self, names: tuple[str, ...], first: int) -> None:
        """A message at the first cell of a column: what is written there is copied to the cells below."""
        from openpyxl.worksheet.datavalidation import DataValidation

        for name in names:
            message = DataValidation(allow_blank=True, showInputMessage=True, promptTitle=name)
            message.prompt = "Write it here: the cells below copy it. Write over one of them where it changes."
            self.sheet.add_data_validation(message)
            message.add(f"{self.letter(name)}{first}")

    def copy_down(self, name: str, above: int | None) -> object:
        """The cell of a column that repeats the one above; empty where it is the first, which is written in."""
        cell = f"{self.letter(name)}{above}"
        return _Formula(f'=IF({cell}="","",{cell})') if above else None


def write_readings(path: Path, steps: tuple[Step, ...], install_id: str) -> int:
    """The readings to take, one a line. Returns how many lines."""
    book, writer = _book("readings", READING_COLUMNS, install_id)
    lines, above = numbered(steps), None
    for step in steps:
        if step.readings:
            _say_step(writer, step)
        for reading in step.readings:
            above = _write_reading(writer, step.name, reading, lines, above)
    writer.say_once(("install_id", "read_on", "read_by"), 3)
    _finish(writer)
    book.save(path)
    return len(lines)


def write_checks(path: Path, steps: tuple[Step, ...], catalogue: Catalogue, install_id: str) -> int:
    """What to look at, one a line, outcomes from a list. Returns how many lines."""
    book, writer = _book("checks", CHECK_COLUMNS, install_id)
    above: int | None = None
    first, number = 0, 0
    for step in steps:
        if step.checks:
            _say_step(writer, step)
        for seen, member in _each_seen(step.checks):
            number += 1
            above = writer.put(
                {
                    LINE: number,
                    "step": step.name,
                    "check": seen.check,
                    "member": member,
                    "fails_if": seen.fails,
                    "install_id": install_id or writer.copy_down("install_id", above),
                    "checked_on": writer.copy_down("checked_on", above),
                }
            )
            first = first or above
    _offer(writer, "outcome", first, catalogue.words["outcomes"])
    writer.say_once(("install_id", "checked_on"), first)
    _finish(writer)
    book.save(path)
    return number


def _each_seen(checks: tuple[Seen, ...]) -> Iterator[tuple[Seen, str | None]]:
    for seen in checks:
        for member in seen.members:
            yield seen, member


def _write_reading(
    writer: _Writer, step: str, reading: Reading, lines: dict[tuple[str, Place], int], above: int | None
) -> int:
    first = writer.row + 1
    for place in reading.places:
        planned = [] if place.planned is None else [f"Plan: {place.planned} mm."]
        where = [reading.where] if writer.row < first else []
        above = writer.put(
            {
                LINE: lines[reading.measure, place],
                "step": step,
                "where_to_read": " ".join([*planned, *where]),
                "measure": reading.measure,
                "member": place.member,
                "station": place.station,
                "position_mm": place.position,
                "unit": reading.unit,
                "limit": limit_words(reading),
                "source": source_words(reading) if where else None,
                "install_id": writer.install_id or writer.copy_down("install_id", above),
                "instrument": writer.copy_down("instrument", writer.row if writer.row >= first else None),
                **{name: writer.copy_down(name, above) for name in ("read_on", "read_by")},
            }
        )
    _hold_limit(writer, reading, first)
    assert above is not None
    return above


def limit_words(reading: Reading) -> str:
    """Every limit on a reading, `; ` between them."""
    return "; ".join(dict.fromkeys(limit.words for limit in reading.limits))


def source_words(reading: Reading) -> str:
    """Where the limits come from, each once."""
    sources = dict.fromkeys(limit.source for limit in reading.limits)
    return "; ".join([*sources, *([reading.note] if reading.note else [])])


def _hold_limit(writer: _Writer, reading: Reading, first: int) -> None:
    """The limit as a check that warns and paints red, and the input message that says where to read."""
    from openpyxl.formatting.rule import FormulaRule
    from openpyxl.styles import Font
    from openpyxl.worksheet.datavalidation import DataValidation

    formulas = cell_formulas(reading, first)
    for row in range(first, writer.row + 1):
        cell = f"{VALUE}{row}"
        holds = f"IF(ISNUMBER({cell}),{formulas[row]},FALSE)" if row in formulas else f"ISNUMBER({cell})"
        if len(holds) > LONGEST_FORMULA:
            raise ValueError(f"the check of {cell} is longer than a spreadsheet takes")
        check = DataValidation("custom", formula1=holds, errorStyle="warning", allow_blank=True)
        check.showErrorMessage = check.showInputMessage = True
        check.promptTitle, check.prompt = reading.words[:32], _prompt(reading)
        check.errorTitle = "Out of its limit, or no number"
        check.error = f"{limit_words(reading) or 'A number is wanted'}. Write it down all the same if it is so."[:225]
        writer.sheet.add_data_validation(check)
        check.add(cell)
        if row in formulas:
            rule = FormulaRule([f'AND({cell}<>"",NOT({formulas[row]}))'], font=Font(color=RED[1:], bold=True))
            writer.sheet.conditional_formatting.add(cell, rule)


def _prompt(reading: Reading) -> str:
    text = f"{reading.where} {limit_words(reading)}".strip()
    return text if len(text) <= LONGEST_PROMPT else text[: LONGEST_PROMPT - 1].rsplit(" ", 1)[0] + "…"


def _offer(writer: _Writer, name: str, first: int, words: tuple[str, ...]) -> None:
    """A list to choose from; another word is refused, since the records know no other."""
    from openpyxl.worksheet.datavalidation import DataValidation

    offer = DataValidation("list", formula1=f'"{",".join(words)}"', allow_blank=True, showErrorMessage=True)
    offer.showInputMessage = True
    offer.promptTitle, offer.prompt = "Seen", f"Choose: {', '.join(words)}. Left empty: not looked at."
    offer.errorTitle, offer.error = "Not one of the words", f"Choose one of {', '.join(words)}."
    writer.sheet.add_data_validation(offer)
    offer.add(f"{writer.letter(name)}{first}:{writer.letter(name)}{writer.row}")


def _say_step(writer: _Writer, step: Step) -> None:
    """A heading over the lines of a step, with its caution; it has no measure, so it is no reading."""
    from openpyxl.styles import Font

    beside = "where_to_read" if "where_to_read" in writer.columns else "fails_if"
    row = writer.put({"step": step.name.upper(), beside: step.caution or None})
    writer.sheet[f"{writer.letter('step')}{row}"].font = Font(bold=True)
    writer.sheet[f"{writer.letter(beside)}{row}"].font = Font(bold=True, color=RED[1:])


def _book(name: str, columns: dict[str, int], install_id: str) -> tuple["Workbook", _Writer]:
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    sheet = book.active
    sheet.title = name
    writer = _Writer(sheet, columns, install_id)
    for column, width in columns.items():
        cell = sheet[f"{writer.letter(column)}1"]
        cell.value = column
        cell.font = Font(bold=True, color=BLUE[1:] if column in TO_FILL else GREY[1:])
        sheet.column_dimensions[writer.letter(column)].width = width
    return book, writer


def _finish(writer: _Writer) -> None:
    """Looks and print: a frozen header, boxes round what is to be filled in, A4 across."""
    from openpyxl.styles import Alignment, Border, Side

    sheet = writer.sheet
    sheet.freeze_panes = "A2"
    box = Border(*[Side("thin", color=PALE[1:])] * 4)
    for name in writer.columns:
        for row in range(2, writer.row + 1):
            cell = sheet[f"{writer.letter(name)}{row}"]
            cell.alignment = Alignment(vertical="top", wrap_text=name not in TO_FILL and writer.columns[name] > 20)
            if name in TO_FILL:
                cell.border = box
            if name in DAYS:
                cell.number_format = "yyyy-mm-dd"
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
