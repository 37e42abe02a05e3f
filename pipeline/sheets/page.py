"""The blank sheets as one page to print: a grid of boxes for each reading, in the order of the work, on A4."""

from dataclasses import dataclass
from datetime import date

from pipeline.report.drawing.drawn import Drawing
from pipeline.report.templating import page_from
from pipeline.sheets.cautions import DEFERS
from pipeline.sheets.door import Door, sill_stations
from pipeline.sheets.drawing import draw_door
from pipeline.sheets.fixings import fixing_plan
from pipeline.sheets.groups import Place, Reading, Seen, Step, numbered
from pipeline.sheets.limits import DoorLimit


@dataclass(frozen=True)
class Box:
    """One place to write in. number: its line in the workbook; label: where it is; planned: where it should be."""

    number: int
    label: str
    planned: str


@dataclass(frozen=True)
class Row:
    """The boxes of one member."""

    name: str
    boxes: tuple[Box, ...]


@dataclass(frozen=True)
class Grid:
    """One reading on paper."""

    words: str
    where: str
    unit: str
    limits: tuple[DoorLimit, ...]
    note: str
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class Section:
    """One step on paper. drawing: with the frame's fixings, where they are written down first."""

    name: str
    caution: str
    grids: tuple[Grid, ...]
    checks: tuple[Seen, ...]
    drawing: Drawing | None


def render_page(door: Door, steps: tuple[Step, ...], names: tuple[str, str], made_on: date) -> str:
    """The page as HTML: style and drawing inside, no script, no address outside.

    names  the firm and the door, as to be written; empty where the fitter writes them
    """
    lines = numbered(steps)
    sections = tuple(_section(door, step, lines) for step in steps)
    firm, install_id = names
    return page_from(
        "pipeline.sheets", "record", door=door, sections=sections, firm=firm, install_id=install_id, defers=DEFERS,
        made_on=made_on.isoformat(),
    )  # fmt: skip


def _section(door: Door, step: Step, lines: dict[tuple[str, Place], int]) -> Section:
    drawing = draw_door(door, fixing_plan(door), sill_stations(door)) if step.name == "sill" else None
    grids = tuple(_grid(reading, lines) for reading in step.readings)
    return Section(step.name, step.caution, grids, step.checks, drawing)


def _grid(reading: Reading, lines: dict[tuple[str, Place], int]) -> Grid:
    boxes = {place: _box(reading, place, lines) for place in reading.places}
    rows = tuple(
        Row((member or "").replace("_", " "), tuple(box for place, box in boxes.items() if place.member == member))
        for member in reading.members
    )
    return Grid(reading.words, reading.where, reading.unit, reading.limits, reading.note, rows)


def _box(reading: Reading, place: Place, lines: dict[tuple[str, Place], int]) -> Box:
    at = "" if place.position is None else f"at {place.position}"
    label = " ".join(part for part in (place.station, at) if part)
    planned = "" if place.planned is None else f"plan {place.planned}"
    return Box(lines[reading.measure, place], label, planned)
