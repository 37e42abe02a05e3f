"""Whether what was written can be opened without harm: no cell that a spreadsheet runs, no tag that a browser runs."""

import csv
import re
from html.parser import HTMLParser
from pathlib import Path

from tests.hardness.cells import MARK

RUNS = re.compile(r"[=+\-@\t\r]")
NUMBER = re.compile(r"-?\d+(\.\d+)?(e[+-]?\d+)?", re.IGNORECASE)


def harmful(out: Path) -> list[str]:
    """What in the tables, workbooks and pages of an output folder a spreadsheet or browser would run."""
    found = [
        f"{path.name}: {cell!r}" for path in sorted(out.rglob("*.csv")) for cell in _csv_cells(path) if _runs(cell)
    ]
    found += [f"{path.name}: {cell!r}" for path in sorted(out.glob("*.xlsx")) for cell in _formulas(path)]
    for path in sorted(out.rglob("*.html")):
        page = _Page()
        page.feed(path.read_text("utf-8"))
        found += [f"{path.name}: {what}" for what in page.found]
    return found


def _runs(cell: str) -> bool:
    return bool(RUNS.match(cell)) and not NUMBER.fullmatch(cell)


def _csv_cells(path: Path) -> list[str]:
    csv.field_size_limit(1 << 30)
    with path.open(encoding="utf-8", newline="") as file:
        return [cell for row in csv.reader(file) for cell in row]


def _formulas(path: Path) -> list[str]:
    from openpyxl import load_workbook

    cells = [cell for sheet in load_workbook(path) for row in sheet.iter_rows() for cell in row]
    return [
        str(cell.value)
        for cell in cells
        if cell.data_type == "f" or (isinstance(cell.value, str) and _runs(cell.value))
    ]


class _Page(HTMLParser):
    """Finds the mark where a browser would act on it: as a tag, in an attribute that runs, in a script or a style."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._inside = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._inside = tag if tag in ("script", "style") else ""
        if MARK in tag:
            self.found.append(f"a tag {tag}")
        for name, value in attrs:
            is_link = name in ("href", "src", "xlink:href", "action") and (value or "").strip().lower().startswith(
                "javascript:"
            )
            if MARK in name or is_link or (name.startswith("on") and MARK in (value or "")):
                self.found.append(f"an attribute {name}={value!r}")

    def handle_endtag(self, tag: str) -> None:
        self._inside = ""

    def handle_data(self, data: str) -> None:
        if self._inside and MARK in data:
            self.found.append(f"text within {self._inside}")
