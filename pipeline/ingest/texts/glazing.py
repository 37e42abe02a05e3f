"""Thicknesses of glass as people write them, with what the unit is: 28mm DGU, 4-20-4, 28 mm (4/20/4).

A pane, a gap and a pane make a unit as thick as all of them together: common practice, no source.
"""

import re

GLASS = "glass_mm"
_WORDS = re.compile(
    r"\b(?:dgu|tgu|igu|d/?g|t/?g|double|triple|glazed|glazing|glass|sealed|units?|toughened|tough|tuff|laminated|lami?|clear|"
    r"low[- ]?e|argon|filled|overall|o/?a|thick|warm edge)\b\.?",
    re.IGNORECASE,
)
# Panes and the gaps between them.
_BETWEEN = r"(?:\s*[-/x]\s*\d{1,2}(?:\.\d)?)"
_PANES = re.compile(rf"\(?\b\d{{1,2}}(?:\.\d)?(?:{_BETWEEN}{{4}}|{_BETWEEN}{{2}})\b\)?")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_BESIDE = " ,;-/()"
_THINNEST, _THICKEST = 10.0, 80.0


def thickness_in(text: str) -> str:
    """The thickness that a text says, without what the unit is; the text as it is where it says anything else.

    >>> [thickness_in(text) for text in ("28mm DGU", "4-20-4", "36 mm triple glazed (4/12/4/12/4)", "see order")]
    ['28mm', '28', '36 mm', 'see order']
    """
    panes = _PANES.search(text)
    rest = " ".join(_WORDS.sub(" ", _PANES.sub(" ", text)).split()).strip(_BESIDE)
    whole = sum(map(float, _NUMBER.findall(panes[0]))) if panes else 0.0
    if panes and not rest:
        return f"{whole:g}" if _THINNEST <= whole <= _THICKEST else text
    is_number = _NUMBER.match(rest) is not None and len(_NUMBER.findall(rest)) == 1
    # what is told twice must be one and the same
    is_same = not panes or (is_number and float(_NUMBER.findall(rest)[0]) == whole)
    return rest if is_number and is_same else text
