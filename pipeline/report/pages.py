"""The sheets of one run: opens the results once and hands them to each sheet's module."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from pipeline.crew_codes import Codes
from pipeline.report.explorer import library
from pipeline.report.numbers import as_name, day
from pipeline.report.reading import Results
from pipeline.report.sheet import TitleBlock, render
from pipeline.report.sheets.crew_sheet import crew_sheets, rendered
from pipeline.report.sheets.explore import explore_sheet
from pipeline.report.sheets.letter import letter_sheet
from pipeline.report.sheets.methods import methods_sheet
from pipeline.report.sheets.owner import owner_sheet
from pipeline.report.sheets.quality import quality_sheet
from pipeline.report.sheets.records import records_sheet
from pipeline.report.sheets.tables import tables_sheet
from pipeline.report.sheets.training import training_sheet
from pipeline.report.words.common import firm_name

MAKERS = (
    letter_sheet,
    quality_sheet,
    training_sheet,
    owner_sheet,
    records_sheet,
    methods_sheet,
    explore_sheet,
    tables_sheet,
)


# What can be drawn by itself: each sheet, and at the end the crews' sheets together.
N_PARTS = len(MAKERS) + 1


def pages_of(results: Path, codes: Codes | None, parts: Sequence[int]) -> Iterator[tuple[str, str]]:
    """Pages as their path from the folder of pages and their text. parts: numbers below N_PARTS, in their order."""
    if len(parts) > 1:
        library()  # of the linked sheet, put together while others are drawn
    with Results(results, codes) as opened:
        firm = opened.firm()
        title_block = TitleBlock(as_name(firm_name(firm)), day(firm.as_of), firm.run or "")
        for part in parts:
            if part == len(MAKERS):
                yield from rendered(crew_sheets(opened), title_block)
            else:
                sheet = MAKERS[part](opened, firm, title_block)
                yield sheet.name.file_name, render(sheet)
