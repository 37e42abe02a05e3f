"""One label of a row of distances that says what is read as well as where: Sill level, distance from left end (mm).

The row below it then says no more than that here are the values: Height over datum (mm), Reading. How such forms look
is common practice, no source.
"""

import re
from collections.abc import Iterator
from functools import lru_cache

from pipeline.ingest.matching.forms.heads import is_word
from pipeline.ingest.matching.forms.labels import label_of
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.matching.words.meaning import PLANES, SURE, Meaning, column_likeness, reading_meaning
from pipeline.ingest.matching.words.places import SPREAD
from pipeline.ingest.records import READINGS

SAYS_WHERE, _SAYS_VALUE = 0.9, 0.9
# Left alone may be a jamb, and what stands beside it its fixings.
_OF_DISTANCES = re.compile(r"\b(?:from|along|at|mm|dist|pos|stat|chain|offset|where|place|loc)", re.IGNORECASE)
# Heights are distances where a jamb is read.
_OF_HEIGHTS = re.compile(
    r"(?:(?:taken|read|measured)\s+)?(?:at\s+)?heights?(?:\s+(?:up|above|over|from|on)(?:\s+(?:the\s+)?\w+)?)?"
    r"(?:[\s,(\[]*mm[)\]]*)?",
    re.IGNORECASE,
)
# Along which member the distances are, which the label of their row says for the values as well.
_ALONG = re.compile(r"\balong\s+(?:the\s+)?(sill|cill|threshold|head|bottom\s+track)\b", re.IGNORECASE)
_BETWEEN = " \t,;:/–—-"
_TAKEN = re.compile(r"^(?:(?:taken|read|measured)\s+)?(?:at\s+)?", re.IGNORECASE)
# Words of where: what has one is not all that is read.
_WHERE = re.compile(r"\b(?:from|along\s+(?:the\s+)?(?:sill|cill|head)|dist\w*|pos\w*|chain\w*)\b|^\(", re.IGNORECASE)


def says_where(label: str) -> bool:
    """Whether a label says that its row holds distances in mm, counted from where they are counted here."""
    if split_unit(label)[1] not in (None, "mm"):
        return False
    texts = (label, _ALONG.sub("", label).strip(_BETWEEN), _TAKEN.sub("", label))
    return any(
        bool(_OF_DISTANCES.search(text)) and column_likeness(READINGS.name, "position_mm", text) >= SAYS_WHERE
        for text in texts
    )


@lru_cache(maxsize=20_000)
def what_is_read(text: str) -> str:
    """What the label of a row of distances says to be read at them; empty where it says no more than where."""
    return next((what for what, where in _apart(text) if _is_read(what) and _is_where(what, where)), "")


def member_along(label: str) -> str:
    """The member that distances are said to be along: sill, of Distance along sill."""
    found = _ALONG.search(label)
    return found[1] if found else ""


def row_named(what: str, label: str, title: str = "") -> str:
    """The path of a row of values, by what its distances' label says; empty where it is none of these.

    title  a text that stands alone over the table
    """
    alone = _spread(label)
    if alone is not None and alone.rival is None:
        return JOINT.join(filter(None, (title, label)))
    ways = [(title, what, label), (what, label)]
    if not is_word(label) or column_likeness(READINGS.name, "value", label) >= _SAYS_VALUE:
        unit = split_unit(label)[1]
        said = f"{what} ({unit})" if unit and not split_unit(what)[1] else what
        ways += [(title, said), (said,)]
    paths = (JOINT.join(filter(None, way)) for way in ways)
    return next((path for path in paths if _spread(path) is not None), "")


def _apart(text: str) -> Iterator[tuple[str, str]]:
    """Every way to part a label in two, what and where: either may come first."""
    for found in re.finditer(r"[\s,;:]+", text):
        first, last = _bare(text[: found.start()]), _bare(text[found.end() :])
        if first and last and all(one.count("(") == one.count(")") for one in (first, last)):
            yield first, last
            yield last, first


def _bare(text: str) -> str:
    """A part of a label without what joins it to the other, such as half a pair of brackets."""
    text = text.strip(_BETWEEN)
    is_whole = text.count("(") == text.count(")") and not (text.startswith("(") and text.endswith(")"))
    return text if is_whole else text.strip("()" + _BETWEEN)


def _is_read(what: str) -> bool:
    """Whether a text says what is read along a member and not where; of a jamb the plane may be said by the rows."""
    meaning = reading_meaning(what)
    if meaning is None or meaning.name not in SPREAD or _WHERE.search(what):
        return False
    is_open = meaning.rival is not None and {meaning.name, meaning.rival} <= set(PLANES.values())
    place = meaning.place
    has_place = bool(place.station or place.position_mm) or place.share is not None
    return (meaning.sure >= SURE or is_open) and not has_place


def _is_where(what: str, where: str) -> bool:
    meaning = reading_meaning(what)
    is_of_jamb = meaning is not None and meaning.name in PLANES.values()
    return says_where(where) or (is_of_jamb and _OF_HEIGHTS.fullmatch(where) is not None)


def _spread(path: str) -> Meaning | None:
    """What a path surely says to be read along a member; None for anything else."""
    meaning = reading_meaning(label_of(path))
    return meaning if meaning is not None and meaning.sure >= SURE and meaning.name in SPREAD else None
