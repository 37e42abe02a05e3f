"""Ordinals in headings, which number a leaf or a point as plain numbers do: 1st leaf, Fixings / Left jamb / Second."""

import re

_NTH = re.compile(r"\b(\d{1,2})(?:st|nd|rd|th)\b", re.IGNORECASE)
_SPELT = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
# In words only where one stands by itself: First fix is no first point.
_ALONE = re.compile(rf"(?:^|(?<=/ ))({'|'.join(_SPELT)})(?=\s*(?:/|$))", re.IGNORECASE)


def with_numbers(heading: str) -> str:
    """The heading with its ordinals as numbers.

    >>> with_numbers("Fixings / Left jamb / 2nd"), with_numbers("Fixings / Left jamb / Third")
    ('Fixings / Left jamb / 2', 'Fixings / Left jamb / 3')
    """
    return _ALONE.sub(lambda found: str(_SPELT.index(found[1].casefold()) + 1), _NTH.sub(r"\1", heading))
