"""Finds the column that holds the name of the customer and the address, one over the other, in one cell."""

from dataclasses import replace

from pipeline.ingest.declared.mapping import Source, folded
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.sheet.name_and_address import ADDRESS, NAME, part_of_person
from pipeline.ingest.matching.words.vocabulary import words_of

_FEWEST, _MOST, _SAID = 3, 0.8, 0.5
_NAMES, _ADDRESSES = frozenset({"customer", "name", "names"}), frozenset({"address", "site", "location"})
_TITLES = frozenset({"mr", "mrs", "ms", "miss", "mx", "dr", "prof", "rev", "sir", "lady"})


def with_name_and_address(layout: Layout, columns: dict[str, Source]) -> dict[str, Source]:
    """What is read of a record, the customer and the address out of the one column that holds both."""
    found = [columns[name] for name in ("customer", "address") if name in columns]
    if (
        len(found) != 1
        or found[0].heading is None
        or found[0].joined
        or folded(found[0].heading) not in layout.evidence
    ):
        return {}
    heading = folded(found[0].heading)
    texts = [text for text in layout.cells.texts(heading) if text]
    if len(texts) < _FEWEST or not _hold_both(texts, set(words_of(layout.said(heading)))):
        return {}
    return {"customer": replace(found[0], part=NAME), "address": replace(found[0], part=ADDRESS)}


def _hold_both(texts: list[str], words: set[str]) -> bool:
    """Whether most cells are a name and a numbered address. words: of the heading, which may say so."""
    pairs = [(part_of_person(text, NAME), part_of_person(text, ADDRESS)) for text in texts]
    both = [name for name, address in pairs if name and any(map(str.isdecimal, address))]
    says_both = words & _NAMES and words & _ADDRESSES
    if says_both or words & _NAMES:
        return len(both) >= (_SAID if says_both else _MOST) * len(texts)
    # a house may have a name too; of an address alone the first line is a person's where it has a title
    titled = [name for name in both if _TITLES & set(name.casefold().replace(".", " ").split())]
    return len(titled) >= _MOST * len(texts)
