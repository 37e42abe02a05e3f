"""Initials in the boxes of checks: whoever has done a thing signs for it, and an empty box is not done yet.

Read as done only where the sheet says that boxes are initialled; other letters may be short for anything. How firms
sign their lists is common practice, no source.
"""

import re
from dataclasses import replace

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.evidence import is_tick
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.words.heading_units import unit_named
from pipeline.ingest.matching.words.meaning import SURE, check_meaning, of_ticks

_SAYS = re.compile(r"\binitial(?:s|led)?\b", re.IGNORECASE)
_INITIALS = re.compile(r"[a-z]{2,3}|(?:[a-z]\.\s?){2,3}")
# Letters that say something else.
_OTHERS = frozenset({"tbc", "tba", "tbd", "nil", "see", "rej", "bad", "wip", "req", "rqd", "eta"})


def titles_in(form: Grid) -> tuple[str, ...]:
    """The texts of a form that stand alone in their rows, or say that boxes are initialled."""
    rows = ([text for text in texts if text] for texts in form.texts)
    return tuple(text for texts in rows for text in texts if len(texts) == 1 or _SAYS.search(text))


def with_initials(layout: Layout) -> Layout:
    """The layout, in which initials under a check count as ticks where the sheet says that boxes are initialled."""
    if not _is_initialled(layout):
        return layout
    signed = {
        heading: replace(one, ticks=1.0) for heading, one in layout.evidence.items() if _is_signed(layout, heading)
    }
    return replace(layout, evidence=layout.evidence | signed)


def words_of_initials(layout: Layout, headings: list[str]) -> tuple[tuple[str, str], ...]:
    """The initials in the boxes of checks (folded), each of which says that it has passed."""
    if not _is_initialled(layout):
        return ()
    texts = {text for heading in headings for text in layout.evidence[heading].texts}
    return tuple((text, "pass") for text in sorted(map(folded, texts)) if _are_initials(text))


def _is_initialled(layout: Layout) -> bool:
    """Whether a sheet says that boxes are initialled."""
    return any(map(_SAYS.search, [*layout.notes, *layout.heads.written]))


def _is_signed(layout: Layout, heading: str) -> bool:
    """Whether a heading names a check, and what stands under it are initials, or answers beside some."""
    check = check_meaning(layout.said(heading))
    texts = layout.evidence[heading].texts
    if check is None or of_ticks(check).sure < SURE:
        return False
    return any(map(_are_initials, texts)) and all(_are_initials(text) or is_tick(text) for text in texts)


def _are_initials(text: str) -> bool:
    is_other = text in _OTHERS or is_tick(text) or unit_named(text) is not None
    return bool(_INITIALS.fullmatch(text)) and not is_other
