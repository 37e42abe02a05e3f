"""Headings in letters that a note of the sheet explains: Panel 1 TH, where `T = top, H = hinge side`.

Letters that stand in every combination behind the same words (TH, TL, BH, BL) are such letters even where nothing
explains them; then a person says what they mean, and none of them is read as a word it happens to be short for.
"""

import re
from collections import defaultdict

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.words.vocabulary import one_meaning

# T = gap at top (head), B = gap at bottom. A key says a few words at most.
# 3 L = left end 3 low explains what stands in cells.
_SAYS = re.compile(r"(?<![\w/])(?<!\d\s)([A-Z][A-Za-z]{0,2})\s*=\s*((?:(?!\s\w{1,3}\s*=)[^,;=\n]){3,40})")
_CODE = re.compile(r"[A-Z]{1,3}")
_COMBINED = re.compile(r"(.*\S)\s+([A-Z])([A-Z])")
_FEWEST_COMBINED = 3
_QUARTERS = frozenset({"1/4", "1/2", "3/4", "\u00bc", "\u00bd", "\u00be"})
_ENDS = {"0": "0%", "1": "100%"}


def by_key(layout: Layout) -> dict[str, str]:
    """By heading (folded) of letters, what it says in full by the key; without them where nothing explains them."""
    key = _of_headings(key_of([*layout.titles, *layout.notes]), layout)
    combined = _combined([layout.said(heading) for heading in layout.evidence])
    found = {}
    for heading in layout.evidence:
        said = layout.said(heading)
        if said in combined and not set(_COMBINED.sub(r"\2\3", said)) <= key.keys():
            found[heading] = _COMBINED.sub(r"\1", said)
        elif (full := _in_full(said, key, said in combined)) != said:
            found[heading] = full
    return found


def key_of(texts: list[str]) -> dict[str, str]:
    """What letters mean that the texts explain; those that they explain in two ways are left out.

    >>> key_of(["T = gap at top (head), B = gap at bottom (sill); H=hinge side L=lock side"])
    {'T': 'gap at top (head)', 'B': 'gap at bottom (sill)', 'H': 'hinge side', 'L': 'lock side'}
    """
    found = (pair for text in dict.fromkeys(texts) for pair in _SAYS.findall(text))
    return dict(one_meaning((code, folded(meaning)) for code, meaning in found))


def _of_headings(key: dict[str, str], layout: Layout) -> dict[str, str]:
    """A key without the letters that are all that stands in a column: T = Tom's gang under Fitted by, beside Sill R."""
    codes = {code.casefold() for code in key}
    columns = (one.texts for one in layout.evidence.values())
    of_cells = {text for texts in columns if len(texts) > 1 and texts <= codes for text in texts}
    return {code: meaning for code, meaning in key.items() if code.casefold() not in of_cells}


def _combined(headings: list[str]) -> set[str]:
    """The headings whose last two letters combine: both the first and the second of them vary behind the same words."""
    groups: dict[str, dict[str, tuple[str, str]]] = defaultdict(dict)
    for heading in headings:
        if found := _COMBINED.fullmatch(heading):
            groups[folded(found[1])][heading] = (found[2], found[3])
    return {
        heading
        for ones in groups.values()
        if len(ones) >= _FEWEST_COMBINED and all(len(set(letters)) == 2 for letters in zip(*ones.values(), strict=True))
        for heading in ones
    }


def _in_full(said: str, key: dict[str, str], is_combined: bool) -> str:
    """A heading with its letters in the words of the key."""
    words = []
    for word in said.split():
        if word in key:
            words.append(key[word])
        elif is_combined and _CODE.fullmatch(word) and set(word) <= key.keys():
            words += [key[letter] for letter in word]
        else:
            words.append(word)
    return " ".join(words)


def ends_of_parts(layout: Layout) -> dict[str, str]:
    """By heading (folded) of 0 or 1 beside quarters of a length, what it says in full: Sill level / 0, 1/4, 1/2, 1."""
    parted = {heading: layout.said(heading).rpartition(JOINT) for heading in layout.evidence}
    in_quarters = {upper for upper, _, lower in parted.values() if upper and lower.strip() in _QUARTERS}
    return {
        heading: JOINT.join((upper, _ENDS[lower.strip()]))
        for heading, (upper, _, lower) in parted.items()
        if upper in in_quarters and lower.strip() in _ENDS
    }
