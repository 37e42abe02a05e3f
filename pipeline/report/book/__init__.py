"""fitback.xlsx: the results that people use as one workbook, formatted, with filters and charts."""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pipeline.crew_codes import Codes


def write_book(results: Path, path: Path, codes: "Codes | None" = None) -> Path:
    """Writes the workbook to `path` and returns it.

    results  results.duckdb of a finished build; read only
    codes    what every crew is shown as, by name; None: as the records name it
    Of a table of which a row stands for each door it has nothing, so that a firm of a million doors costs little more
    than a small one.
    """
    from openpyxl import Workbook

    from pipeline.books import MAKER
    from pipeline.report.book.charts import write_charts
    from pipeline.report.book.start import write_start
    from pipeline.report.book.tabs import TABS
    from pipeline.report.book.writing import write_tab
    from pipeline.report.reading import Results
    from pipeline.report.sheets.answers import answers_of
    from pipeline.report.words.common import firm_name

    book = Workbook()
    book.remove(book.active)
    with Results(results, codes) as opened:
        firm = opened.firm()
        written = [one for tab in TABS if (one := write_tab(book, tab, opened))]
        charts = write_charts(book, opened)
        write_start(book, firm, answers_of(opened, firm), written, charts)
    book.properties.creator, book.properties.title = MAKER, f"Results of {firm_name(firm)}"[:200]
    book.properties.identifier = firm.run
    path.parent.mkdir(parents=True, exist_ok=True)
    book.save(path)
    return path
