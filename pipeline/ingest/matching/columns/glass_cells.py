"""Columns of glass whose cells say what the unit is beside its thickness: looked at as the thicknesses they hold."""

from dataclasses import replace

from pipeline.ingest.matching.columns.evidence import look_at
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.words.meaning import SURE, likeness_under
from pipeline.ingest.records import INSTALLS
from pipeline.ingest.texts.glazing import GLASS, thickness_in


def with_glass(layout: Layout) -> Layout:
    """The layout, with columns of glass as they are read."""
    named = [one for one in layout.evidence if likeness_under(INSTALLS.name, GLASS, layout.said(one)) >= SURE]
    texts = {one: layout.cells.texts(one) for one in named}
    read = {one: look_at([thickness_in(text) for text in cells]) for one, cells in texts.items() if any(cells)}
    return replace(layout, evidence=layout.evidence | read) if read else layout
