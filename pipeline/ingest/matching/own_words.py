"""The firm's own words in a column of closed words: those the trade writes for one of the list become `words`."""

import re

from pipeline.ingest.matching.evidence import Evidence
from pipeline.ingest.matching.vocabulary import trade_words
from pipeline.ingest.words import plain

_MOST_WORDS = 60


def own_words(column: str, evidence: Evidence) -> tuple[tuple[str, str], ...]:
    """(as the sheet writes it, the word it means) for the cells that are no words of the list and plainly mean one."""
    meant = trade_words(column)
    if not meant or len(evidence.texts) > _MOST_WORDS:
        return ()
    found = ((text, _meant(text, meant)) for text in sorted(evidence.texts))
    return tuple((text, word) for text, word in found if word and plain(text) != plain(word))


def _meant(text: str, meant: dict[str, str]) -> str | None:
    """The word that a text is another way to write: as a whole, else the only one that its words mean."""
    whole = _folded(text)
    if whole in meant:
        return meant[whole]
    named = {meant[f"+{word}"] for word in whole.split() if f"+{word}" in meant}
    return named.pop() if len(named) == 1 else None


def _folded(text: str) -> str:
    return " ".join(re.findall(r"[^\W_]+", text.casefold()))
