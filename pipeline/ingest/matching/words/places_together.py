"""Several places of one measure that a text names together: Sill L / C / R, head gap at hinge side, at lock side."""

import re
from collections.abc import Iterator
from functools import lru_cache

from pipeline.ingest.matching.words.meaning import reading_meaning

_MOST_PARTS, _LONGEST_NAME = 6, 3
_BETWEEN = (
    r"\s*/\s*",
    r"\s*,\s*",
    r"\s*\|\s*",
    r"\s*;\s*",
    r"\s+-\s+",
    r"(?<=\b\w)-(?=\w\b)",
    r"\s*&\s*",
    r"\s+and\s+",
)
# How surely every one of the headings that a list stands for must name its reading.
_PLAINLY = 0.85
# Behind a height a bare M would be metres.
_MIDDLE = {"m": "middle"}
_BRACKETS = re.compile(r"[()\[\]]")


@lru_cache(maxsize=20_000)
def named_together(heading: str) -> tuple[str, ...]:
    """What each of several readings would be headed that a heading names together; none where it names no such.

    >>> named_together("Cill L/C/R (mm)")
    ('Cill L (mm)', 'Cill C (mm)', 'Cill R (mm)')
    """
    return next((texts for texts in _readings_of(heading) if _are_places_of_one(texts)), ())


def places_spelt_out(text: str, n_places: int) -> tuple[str, ...]:
    """What each of some readings is that a text explains together, also behind what they are of; none if not so many.

    >>> places_spelt_out("Head gap at hinge side, at lock side", 2)
    ('Head gap at hinge side', 'Head gap at at lock side')
    """
    found = (texts for texts in _readings_of(text) if len(texts) == n_places)
    behind = (
        tuple(f"{first} {name}" for name in names)
        for between in _BETWEEN
        for first, *names in [re.split(between, text)]
        if len(names) == n_places
    )
    return next((texts for texts in (*found, *behind) if _are_places_of_one(texts)), ())


def _readings_of(heading: str) -> Iterator[tuple[str, ...]]:
    """The headings that a list of places in a heading stands for, however many words each has; short names first."""
    for between in _BETWEEN:
        pieces = re.split(between, heading)
        if not 2 <= len(pieces) <= _MOST_PARTS:
            continue
        first, last = pieces[0].split(), pieces[-1].split()
        for n_first in range(1, min(_LONGEST_NAME, len(first)) + 1):
            for n_last in range(1, min(_LONGEST_NAME, len(last)) + 1):
                before, after = first[:-n_first], last[n_last:]
                names = [" ".join(first[-n_first:]), *pieces[1:-1], " ".join(last[:n_last])]
                spelt = [_MIDDLE.get(name.casefold(), name) for name in names]
                yield tuple(_plain(" ".join([*before, name, *after])) for name in spelt)


def _plain(text: str) -> str:
    """A heading without a bracket that the list of places has cut in two."""
    return text if text.count("(") == text.count(")") and text.find("(") <= text.find(")") else _BRACKETS.sub(" ", text)


def _are_places_of_one(texts: tuple[str, ...]) -> bool:
    """Whether headings all name one measure for sure, each at another place."""
    found = [reading_meaning(text) for text in texts]
    meanings = [one for one in found if one is not None and one.sure >= _PLAINLY and not one.rival]
    places = {(one.place.member, one.place.station, one.place.share, one.place.position_mm) for one in meanings}
    is_one = len({(one.name, one.unit) for one in meanings}) == 1
    is_said = all(one.place.station or one.place.share is not None or one.place.member for one in meanings)
    return len(places) == len(meanings) == len(texts) and is_one and is_said
