"""A sheet together with the [[sheet]] table that reads it."""

from dataclasses import dataclass

from pipeline.ingest.matching.body import Cells
from pipeline.ingest.matching.grid import Grid
from pipeline.ingest.matching.mapping import SheetMap


@dataclass(frozen=True)
class Found:
    """A sheet, its table and its cells by heading. notes: worth saying, once a sheet."""

    grid: Grid
    sheet_map: SheetMap
    cells: Cells
    notes: tuple[str, ...]
