"""Ordinals in headings, which number a leaf or a point as plain numbers do: 1st leaf, Fixings / Left jamb / Second.

An ordinal numbers as well visits, readings and floors, and a 2nd fix is a stage of the work: only one before what doors
have several of is a number of it, or at the end of a heading that names such a thing. Common practice, no source.
"""

import re

from pipeline.ingest.texts.words import LEAF_WORDS

_THING = rf"(?:{LEAF_WORDS}|doors?|fixings?|screws?|bolts?|anchors?|pack(?:er|ing)s?|packs?|shims?|points?)"
_NAMES_A_THING = re.compile(rf"\b{_THING}\b", re.IGNORECASE)
_NTH = re.compile(
    rf"\b(\d{{1,2}})(?:st|nd|rd|th)\b(?=\s*(?:{_THING}\b|(?:position|up|from|along)\b|[/,)]|$))", re.IGNORECASE
)
# The packers at a hinge are numbered by it.
_NTH_HINGE, _OF_HINGES = (
    re.compile(r"\b(\d{1,2})(?:st|nd|rd|th)\b(?=\s*hinge)", re.IGNORECASE),
    re.compile(r"\b(?:pack|shim)", re.IGNORECASE),
)
# What is left among the words of a heading of an ordinal that numbers none of these.
ORDINAL_ENDS = frozenset({"st", "nd", "rd", "th"})
_SPELT = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
_WORDS = "|".join(_SPELT)
# In words only where one stands by itself: First fix is no first point.
_ALONE = re.compile(rf"(?:^|(?<=/ ))({_WORDS})(?=\s*(?:/|$))", re.IGNORECASE)
_ORDINAL = re.compile(rf"(\d{{1,2}})(?:st|nd|rd|th)|({_WORDS})", re.IGNORECASE)


def ordinals_as_numbers(heading: str) -> str:
    """The heading with ordinals that number a leaf or a point as numbers.

    >>> ordinals_as_numbers("Fixings / Left jamb / 2nd"), ordinals_as_numbers("Head gap hinge, 2nd visit")
    ('Fixings / Left jamb / 2', 'Head gap hinge, 2nd visit')
    """
    if not _NAMES_A_THING.search(heading):
        return heading
    if _OF_HINGES.search(heading):
        heading = _NTH_HINGE.sub(r"\1", heading)
    return _ALONE.sub(lambda found: _number(found[1]), _NTH.sub(r"\1", heading))


def number_of_ordinal(text: str) -> str:
    """A text that is an ordinal and nothing else as its number, 2 of 2nd; any other as it is."""
    found = _ORDINAL.fullmatch(text)
    return text if found is None else found[1] or _number(found[2])


def _number(word: str) -> str:
    return str(_SPELT.index(word.casefold()) + 1)
