"""Finds whether each crew keeps a file of its own: lists of doors that differ in their names and say no crew."""

import re
from dataclasses import replace
from pathlib import Path

from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.workbooks.crew_sheets import are_crews
from pipeline.ingest.matching.workbooks.file_patterns import MONTHS

# Parts of a name that tell when: 2025, 03-2025, March, week 12.
_DATED = rf"(?:(?:19|20)\d\d|{MONTHS}\.?|q[1-4]|w(?:ee)?k\s*\d+)"
_WHEN = re.compile(rf"(?<![^\W_])(?:\d{{1,2}}[-_.])?{_DATED}(?:[-_. ]?\d\d)*(?![^\W_])", re.IGNORECASE)
_WORD = re.compile(r"[^\s_,;()-]+")
# The facts of the doors of a sheet, as headings by column, and its layout.
Crewless = list[tuple[dict[str, str], Layout]]


def crews_of_files(found: dict[Path, Crewless], known_crews: frozenset[str]) -> dict[str, str]:
    """The crew by the name of the file; none where the names are those of something else.

    found  of each file the sheets that list doors and lack nothing but their crew
    """
    names = crew_names([path.stem for path, sheets in found.items() if sheets])
    named = {path: names.get(path.stem, "") for path, sheets in found.items() if sheets}
    if not all(named.values()):
        return {}
    sheets = [
        (facts, replace(layout, grid=replace(layout.grid, name=named[path])))
        for path in named
        for facts, layout in found[path]
    ]
    # what the files have in common in their names may say what they go by, as a title does
    return {path.name: crew for path, crew in named.items()} if are_crews(sheets, "", known_crews) else {}


def crew_names(stems: list[str]) -> dict[str, str]:
    """What tells names of files apart, by name: without when, and without the words that all of them have.

    >>> crew_names(["doors Alder 2025", "doors Birch 2025"])
    {'doors Alder 2025': 'Alder', 'doors Birch 2025': 'Birch'}
    >>> crew_names(["Van 1 March", "Van 3 March"])
    {'Van 1 March': 'Van 1', 'Van 3 March': 'Van 3'}
    """
    words = {stem: _WORD.findall(_WHEN.sub(" ", stem)) for stem in stems}
    common = set.intersection(*({word.casefold() for word in found} for found in words.values())) if words else set()
    names = {}
    for stem, found in words.items():
        own = [word for word in found if word.casefold() not in common]
        # a number or a letter alone names nobody
        is_named = any(sum(map(str.isalpha, word)) > 1 for word in own)
        names[stem] = " ".join(own if is_named or not own else _from_before(found, own))
    return names


def _from_before(found: list[str], own: list[str]) -> list[str]:
    """Numbers or letters with the word before the first, and all between them."""
    at, last = found.index(own[0]), len(found) - 1 - found[::-1].index(own[-1])
    return found[max(0, at - 1) : last + 1]
