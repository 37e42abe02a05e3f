"""A sheet together with the [[sheet]] table that reads it."""

from dataclasses import dataclass

from pipeline.ingest.declared.mapping import SheetMap
from pipeline.ingest.matching.sheet.body import Cells
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.other_sheets import OtherSheets


@dataclass(frozen=True)
class Found:
    """A sheet, its table and its cells by heading. notes: worth saying, once a sheet.

    others  the sheets in which its table may look something up
    """

    grid: Grid
    sheet_map: SheetMap
    cells: Cells
    notes: tuple[str, ...]
    others: OtherSheets | None = None
