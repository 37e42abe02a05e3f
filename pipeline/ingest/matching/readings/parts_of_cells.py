"""Entries for columns whose cells hold several readings: one for each of them, all of one column or none."""

from dataclasses import replace

from pipeline.catalogue import Catalogue
from pipeline.ingest.matching.columns.evidence import look_at
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.readings.wide import propose_one
from pipeline.ingest.matching.sheet.grid import Cell
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.records import READINGS


def entries_of_parts(
    layout: Layout,
    heading: str,
    parts: list[tuple[str, list[Cell]]],
    given: tuple[Catalogue, float | None],
    least: float = SURE,
) -> list[Proposed]:
    """An entry for each part of a column's cells, in their order; none where one of them is no reading so surely.

    parts  what each would be headed, and its cells; given: the catalogue, and the usual number of leaves
    """
    entries = []
    for part, (said, cells) in enumerate(parts, start=1):
        one = propose_one(said, look_at(cells), *given)
        if one is None or one.record != READINGS.name or one.sure < least:
            return []
        entries.append(replace(one, each=replace(one.each, heading=layout.written(heading), part=part)))
    return entries
