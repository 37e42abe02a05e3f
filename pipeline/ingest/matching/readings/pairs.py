"""Width and height written in one cell: 4000 x 2100."""

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import Source
from pipeline.ingest.matching.columns.evidence import Evidence, look_at, units_that_fit
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.readings.wide import unit_of
from pipeline.ingest.matching.sheet.grid import Cell
from pipeline.ingest.matching.sheet.headings import without_number
from pipeline.ingest.matching.sheet.two_in_one import parts_of_cell
from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.matching.words.vocabulary import words_of

# From these shares on a column is one of pairs, and the first numbers are the widths: folding doors are mostly wide.
_MOSTLY, _WIDER = 0.9, 0.8
# Words under which the pair is not the size of the door.
_OF_OTHERS = frozenset({"aperture", "opening", "glass", "leaf", "pane", "structural", "tile", "packers"})


def size_in_one(layout: Layout, catalogue: Catalogue, leaves: float | None, taken: frozenset[str]) -> dict[str, Source]:
    """Where the only column of pairs is the door's width and height: the sources of both; else nothing."""
    pairs = {
        heading: found for heading in layout.evidence if heading not in taken and (found := _pairs(layout, heading))
    }
    pairs = {one: found for one, found in pairs.items() if not set(words_of(layout.said(one))) & _OF_OTHERS}
    if len(pairs) != 1:
        return {}
    ((heading, found),) = pairs.items()
    written = layout.written(heading)
    words = words_of(without_number(written))
    first, second = (look_at([pair[at] for pair in found]) for at in (0, 1))
    order = _order(words, (first, second))
    if order is None:
        return {}
    sources = {}
    for column, part in zip(("width_mm", "height_mm"), order, strict=True):
        # a cell that names its unit needs none of its column
        bare: list[Cell] = [pair[part - 1] for pair in found if pair[part - 1][-1].isdigit()]
        unit, _, doubt = unit_of(column, split_unit(written)[1], look_at(bare), catalogue, leaves)
        if doubt and bare:
            return {}
        unit = unit if bare else "mm"
        sources[column] = Source(heading=written, part=part, unit=None if unit == "mm" else unit)
    return sources


def _pairs(layout: Layout, heading: str) -> list[tuple[str, str]]:
    texts = [text for text in layout.cells.texts(heading) if text]
    parted = {text: parts_of_cell(text) for text in set(texts)}
    found = [pair for text in texts if (pair := parted[text])]
    return found if texts and len(found) >= _MOSTLY * len(texts) else []


def _order(words: tuple[str, ...], sides: tuple[Evidence, Evidence]) -> tuple[int, int] | None:
    """(place of the width, place of the height), by the heading or else by the numbers; None where it is not said."""
    named = [word for word in words if word in ("width", "height", "h")]
    if "width" in named and len(named) > 1:
        return (1, 2) if named[0] == "width" else (2, 1)
    are_heights = [bool(units_that_fit("height_mm", side)) for side in sides]
    if are_heights == [True, False]:
        return 2, 1
    pairs = list(zip(*(side.values for side in sides), strict=False))
    wider = sum(one > other for one, other in pairs)
    return (1, 2) if pairs and wider >= _WIDER * len(pairs) else None
