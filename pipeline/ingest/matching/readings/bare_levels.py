"""Columns headed Level, L, C and R, and no member: the sill's where the sheet or what stands beside them says so.

Where nothing does, or the head is spoken of as well, a person decides. How such sheets look is common practice, no
source.
"""

from itertools import takewhile

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.words.meaning import SURE, reading_meaning
from pipeline.ingest.matching.words.vocabulary import words_in, words_of

_SILL, _OTHERS = frozenset({"sill"}), frozenset({"head", "jamb", "lintel", "transom"})
_IN_A_TITLE = frozenset({"sill", "threshold", "track"})
_LEVEL = "level"


def sills_level(layout: Layout) -> dict[str, str]:
    """By heading (folded) of a level along no member, what it says in full: sill Level / L."""
    found = {heading: full for heading in layout.evidence if (full := _in_full(layout.written(heading)))}
    if not found or not (_is_titled(layout) or _is_beside(layout, set(found))):
        return {}
    return found


def _in_full(written: str) -> str | None:
    """A heading with the sill put before it, where that makes a place along it of a level that says no member."""
    words = words_of(written)
    if _LEVEL not in words or set(words) & (_SILL | _OTHERS):
        return None
    alone, full = reading_meaning(written), reading_meaning(f"sill {written}")
    if full is None or full.name != "sill_height" or full.sure < 1.0 or (alone is not None and alone.sure >= SURE):
        return None
    return f"sill {written}" if full.place.share is not None or full.place.position_mm else None


def _is_titled(layout: Layout) -> bool:
    """Whether a title or the name of the sheet speaks of the sill, and none of another member."""
    words = words_in(layout.titles)
    return bool(words & _IN_A_TITLE) and not words & _OTHERS


def _is_beside(layout: Layout, bare: set[str]) -> bool:
    """Whether the headings right before or behind them speak of the sill, and neither of another member."""
    order = [folded(text) for text in layout.heads.written if text]
    places = [place for place, heading in enumerate(order) if heading in bare]
    before = order[: places[0]][-1:]
    behind = list(takewhile(lambda heading: heading not in bare, order[places[-1] + 1 :]))[:1]
    words = words_in((*before, *behind))
    return bool(words & _SILL) and not words & _OTHERS
