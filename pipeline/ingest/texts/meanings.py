"""What the closed words mean, so that a word of one's own can be answered with the one that means it."""

import re
from dataclasses import dataclass

from pipeline.catalogue import Catalogue

_SMALL_WORDS = frozenset({
    "a", "an", "and", "at", "by", "from", "in", "into", "is", "it", "its", "not", "of", "off", "on", "or", "out", "the",
    "to", "with",
})  # fmt: skip


@dataclass(frozen=True)
class Meaning:
    """told: the meaning as a hint shows it. words: everything that is said of the word, to be searched."""

    told: str
    words: frozenset[str]


def word_meanings(catalogue: Catalogue) -> dict[str, dict[str, Meaning]]:
    """The meanings of the long lists, by name of the list and word. A measure also means what is made from it."""
    made: dict[str, list[str]] = {}
    for row in catalogue.deviations:
        if row.measure:
            made.setdefault(row.measure, []).extend((row.name, row.words))
    return {
        "measures": {
            row.name: _meaning(row.name, row.words, *made.get(row.name, ())) for row in catalogue.measures if row.words
        },
        "checks": {row.name: _meaning(row.name, f"fail: {row.words}", row.do) for row in catalogue.checks if row.words},
        "faults": {row.name: _meaning(row.name, row.meaning, row.words) for row in catalogue.faults if row.meaning},
    }


def meant(text: str, meanings: dict[str, Meaning]) -> list[str]:
    """The words that mean all that was written, those of the fewest other words foremost."""
    written = _content(text)
    found = [name for name, meaning in meanings.items() if written and written <= meaning.words]
    return sorted(found, key=lambda name: (len(meanings[name].words), name))


def _meaning(name: str, told: str, *more: str) -> Meaning:
    return Meaning(told, _content(" ".join((name, told, *more))))


def _content(text: str) -> frozenset[str]:
    """The words that carry the meaning, without the ending of a plural."""
    found = re.findall(r"[^\W_]+", text.casefold())
    return frozenset(word.removesuffix("s") for word in found if word not in _SMALL_WORDS)
