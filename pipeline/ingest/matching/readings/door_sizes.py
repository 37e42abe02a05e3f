"""Where a sheet says the size of its doors: width and height with their unit, and how many leaves are usual."""

from statistics import median

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import Source
from pipeline.ingest.matching.columns.assign import assign
from pipeline.ingest.matching.columns.beside import units_beside
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.placed import Assignment
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.readings.inches_at_end import size_unit
from pipeline.ingest.matching.readings.wide import unit_of
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.records import INSTALLS


def usual_leaves(layout: Layout) -> float | None:
    """The usual number of leaves of the sheet's doors, where a column says it."""
    placed = assign(INSTALLS, layout).placed.get("leaves")
    values = layout.evidence[placed.heading].values if placed and placed.is_column else ()
    return median(values) if values else None


def sizes_of_doors(layout: Layout, each: dict[str, Proposed]) -> list[str]:
    """Headings of one frame width or height in a list of doors that says no other: the door's own size."""
    readings = frozenset(heading for heading, one in each.items() if one.sure >= SURE)
    facts = assign(INSTALLS, layout, readings).placed
    if not {"crew", "fitted_on"} & facts.keys():
        return []
    found = []
    for measure, column in (("frame_width", "width_mm"), ("frame_height", "height_mm")):
        own = [heading for heading in readings if dict(each[heading].each.fixed).get("measure") == measure]
        is_bare = len(own) == 1 and JOINT not in own[0] and each[own[0]].each.share is None
        if is_bare and column not in facts:
            found += own
    return found


def length_along(layout: Layout, facts: Assignment, along: str, given: tuple[Catalogue, float | None]) -> Source | None:
    """The column of the door's width or height, if its unit is certain."""
    placed = facts.placed.get(f"{along}_mm")
    if placed is None or not placed.is_column:
        return None
    written = layout.written(placed.heading)
    if beside := units_beside(layout).get(placed.heading):
        return Source(heading=written, unit_heading=layout.written(beside))
    name, evidence = f"{along}_mm", layout.evidence[placed.heading]
    unit, _, doubt = unit_of(name, size_unit(name, written, evidence, given[1]), evidence, *given)
    return None if doubt else Source(heading=written, unit=None if unit == "mm" else unit)
