"""Proposes columns whose cells list the places of fixings or packers along a member: 200, 750, 1300, 1900.

How many there are differs from door to door. How firms write so is common practice, no source.
"""

from dataclasses import replace

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import PLACES_ALONG
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.readings.parts_of_cells import entries_of_parts
from pipeline.ingest.matching.sheet.grid import Cell
from pipeline.ingest.matching.sheet.several_numbers import listed_in, part_of_list
from pipeline.ingest.matching.words.meaning import SURE, reading_meaning
from pipeline.ingest.texts.not_said import NOTHING

# So many places may a cell list, and from this share of its cells on a column is one of lists.
_MOST, _MOSTLY = 20, 0.9


def lists_in_cells(layout: Layout, catalogue: Catalogue, leaves: float | None) -> list[Proposed]:
    """An entry for each number, up to the most that a cell lists, of every column of lists of such places."""
    found = []
    for heading in layout.evidence:
        meaning = reading_meaning(layout.said(heading))
        if meaning is None or meaning.name not in PLACES_ALONG or meaning.sure < SURE or meaning.place.station:
            continue
        texts = [text for text in layout.cells.texts(heading) if text and text.casefold() not in NOTHING]
        counts = [len(numbers) for text in texts if (numbers := listed_in(text, _MOST))]
        if counts and max(counts) > 1 and len(counts) >= _MOSTLY * len(texts):
            found += _entries(layout, heading, (texts, max(counts)), (catalogue, leaves))
    return found


def _entries(
    layout: Layout, heading: str, of: tuple[list[str], int], given: tuple[Catalogue, float | None]
) -> list[Proposed]:
    texts, n_most = of
    parts: list[tuple[str, list[Cell]]] = [
        (f"{layout.said(heading)} {part}", [part_of_list(text, part, n_most) for text in texts])
        for part in range(1, n_most + 1)
    ]
    return [
        replace(one, why=f"{one.why}; the {one.each.part}. of those that its cells list")
        for one in entries_of_parts(layout, heading, parts, given)
    ]
