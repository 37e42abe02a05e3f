"""Headings in words of the firm's own that a note of the sheet explains: Bottom track = height above the low spot.

Only a heading that by itself names nothing is read by its note, and only where every word of both is understood then.
"""

import re

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.words.meaning import SURE, Meaning, check_meaning, reading_meaning

# Notes end with a sentence, or where the next explanation begins.
_APART = re.compile(r"[.;\n](?:\s+|$)|,\s+(?=[^,=:]{3,40}\s*=)|\s+[|•]\s+")
# A label with one word behind it is a fact of the sheet: Site: Threshold.
_SAYS = re.compile(
    r"\s*([^\W\d_][^=:]{1,38}?[^=:\s])\s*(?:=\s*([^=:]{3,80}?)|(?::|\b(?:is|are|means?)\b)\s*([^=:\s]+\s[^=:]{3,80}?))\s*"
)


def by_notes(layout: Layout) -> dict[str, str]:
    """By heading (folded) what it says in full by a note of the sheet; without those that say it themselves."""
    notes = explanations([*layout.titles, *layout.notes])
    found = {}
    for heading in layout.evidence if notes else ():
        said = layout.said(heading)
        if not _is_sure(said) and (full := _in_full(said, notes)):
            found[heading] = full
    return found


def explanations(texts: list[str]) -> dict[str, str]:
    """What words (folded) mean that the texts explain; those that they explain in two ways are left out.

    >>> explanations(["All in inches. Bottom track = height above the low spot. Pull: lb to start the panel"])
    {'bottom track': 'height above the low spot', 'pull': 'lb to start the panel'}
    """
    said: dict[str, set[str]] = {}
    for sentence in (part for text in texts for part in _APART.split(text)):
        if found := _SAYS.fullmatch(sentence):
            said.setdefault(folded(found[1]), set()).add(folded(found[2] or found[3]))
    return {words: meanings.pop() for words, meanings in said.items() if len(meanings) == 1}


def _in_full(heading: str, notes: dict[str, str]) -> str | None:
    """The heading with a note beside or instead of the words that it explains, whichever is understood."""
    for words, meaning in notes.items():
        found = re.search(rf"(?<!\w){re.escape(words)}(?!\w)", heading, re.IGNORECASE)
        for said in (f"{words} {meaning}", meaning) if found else ():
            full = heading[: found.start()] + said + heading[found.end() :] if found else heading
            if _is_sure(full):
                return full
    return None


def _is_sure(heading: str) -> bool:
    """Whether a heading names a reading or a check, and no word of it is left over."""
    meanings: tuple[Meaning | None, ...] = (reading_meaning(heading), check_meaning(heading))
    return any(one is not None and one.sure >= SURE and not one.place.left for one in meanings)
