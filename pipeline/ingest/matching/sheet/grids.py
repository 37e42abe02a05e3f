"""The sheets of any file that a mapping can read, as grids."""

from pathlib import Path

from pipeline.ingest.history.segments import JSON_LINES
from pipeline.ingest.matching.sheet.grid import Grid, csv_grid, workbook_grids
from pipeline.ingest.matching.sheet.json_grid import json_grid


def read_grids(path: Path, most: int = -1) -> list[Grid]:
    """The visible sheets of a workbook, or the one grid of a CSV file or of JSON lines.

    most  characters of a CSV file, or lines of JSON, to read; -1: all

    Raises Unreadable where it cannot be read.
    """
    ending = path.suffix.lower()
    if ending == ".xlsx":
        return workbook_grids(path)
    return [json_grid(path, most) if ending == JSON_LINES else csv_grid(path, most)]
