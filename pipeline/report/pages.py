"""The sheets of one run: opens the results once and hands them to each sheet's module."""

from pathlib import Path

from pipeline.report.numbers import as_name, day
from pipeline.report.reading import Results
from pipeline.report.sheet import Sheet, TitleBlock
from pipeline.report.sheets.explore import explore_sheet
from pipeline.report.sheets.letter import letter_sheet
from pipeline.report.sheets.methods import methods_sheet
from pipeline.report.sheets.owner import owner_sheet
from pipeline.report.sheets.quality import quality_sheet
from pipeline.report.sheets.records import records_sheet
from pipeline.report.sheets.training import training_sheet
from pipeline.report.words.common import firm_name

MAKERS = (letter_sheet, quality_sheet, training_sheet, owner_sheet, records_sheet, methods_sheet, explore_sheet)


def sheets_of(results: Path) -> list[Sheet]:
    """Every sheet, in the order of the set."""
    with Results(results) as opened:
        firm = opened.firm()
        title_block = TitleBlock(as_name(firm_name(firm)), day(firm.as_of), firm.run or "")
        return [make(opened, firm, title_block) for make in MAKERS]
