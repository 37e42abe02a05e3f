"""A sheet together with the [[sheet]] table that reads it."""

from dataclasses import dataclass

from pipeline.ingest.declared.mapping import SheetMap
from pipeline.ingest.matching.sheet.body import Cells
from pipeline.ingest.matching.sheet.grid import Grid


@dataclass(frozen=True)
class Found:
    """A sheet, its table and its cells by heading. notes: worth saying, once a sheet."""

    grid: Grid
    sheet_map: SheetMap
    cells: Cells
    notes: tuple[str, ...]
