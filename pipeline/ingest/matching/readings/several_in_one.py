"""Proposes columns whose cells hold several readings, 0 / -1 / +2, under a heading that names them: Sill L / C / R.

The heading must name as many places as each cell has numbers, and every one of them plainly. How firms write so is
common practice, no source.
"""

from dataclasses import replace

from pipeline.catalogue import Catalogue
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.readings.parts_of_cells import entries_of_parts
from pipeline.ingest.matching.readings.wide import signed_by_notes
from pipeline.ingest.matching.sheet.grid import Cell
from pipeline.ingest.matching.sheet.several_numbers import is_word_alone, may_be_fractions, numbers_in
from pipeline.ingest.matching.words.places_together import named_together
from pipeline.ingest.texts.not_said import NOTHING

# From this share of its cells on, a column is one of several readings.
_MOSTLY = 0.9
# Three numbers a cell and more are no chance: a few that say one alone, 3 L, are set aside for a person to see.
_MOSTLY_OF_MANY, _MANY = 0.6, 3


def several_in_one(layout: Layout, catalogue: Catalogue, leaves: float | None) -> list[Proposed]:
    """An entry for each reading of the columns whose cells hold several."""
    found = []
    for heading in layout.evidence:
        named = named_together(layout.said(heading))
        if not named:
            continue
        texts = [text for text in layout.cells.texts(heading) if text and text.casefold() not in NOTHING]
        if _are_several(texts, len(named)):
            found += _entries(layout, heading, (named, texts), (catalogue, leaves))
    return signed_by_notes(found, layout.notes)


def _are_several(texts: list[str], n_parts: int) -> bool:
    """Whether nearly all cells have so many numbers."""
    numbered = [text for text in texts if not is_word_alone(text)]
    parted = sum(numbers_in(text, n_parts) is not None for text in numbered)
    mostly = _MOSTLY_OF_MANY if n_parts >= _MANY else _MOSTLY
    return bool(numbered) and parted >= mostly * len(numbered) and not (n_parts == 2 and may_be_fractions(numbered))


def _entries(
    layout: Layout, heading: str, of: tuple[tuple[str, ...], list[str]], given: tuple[Catalogue, float | None]
) -> list[Proposed]:
    """The entries of a column, one for each number of its cells; none where one of them is in doubt."""
    named, texts = of
    parted = [numbers for text in texts if (numbers := numbers_in(text, len(named)))]
    parts: list[tuple[str, list[Cell]]] = [(said, [one[at] for one in parted]) for at, said in enumerate(named)]
    return [
        replace(one, why=f"{one.why}; number {one.each.part} of {len(named)} in its cells")
        for one in entries_of_parts(layout, heading, parts, given)
    ]
