"""The firm's own words in a column of closed words: those the trade writes for one of the list become `words`."""

import re

from pipeline.ingest.matching.columns.evidence import Evidence
from pipeline.ingest.matching.words.contents import are_members, is_leaf, member_named
from pipeline.ingest.matching.words.vocabulary import meant_by, trade_words
from pipeline.ingest.texts.words import known_place, plain

_MOST_WORDS = 60


def own_words(column: str, evidence: Evidence) -> tuple[tuple[str, str], ...]:
    """(as the sheet writes it, the word it means) for the cells that are no words of the list and plainly mean one."""
    if len(evidence.texts) > _MOST_WORDS:
        return ()
    if column == "member" and are_members(evidence.texts):
        return tuple((text, str(member_named(text))) for text in sorted(evidence.texts))
    if column == "member":
        return tuple(
            (text, _leaf(text)) for text in sorted(evidence.texts) if is_leaf(text) and _leaf(text) != known_place(text)
        )
    meant = trade_words(column)
    if column == "station":
        meant = meant | _ends(evidence.texts)
    found = ((text, meant_by(text, meant)) for text in sorted(evidence.texts))
    return tuple((text, word) for text, word in found if word and plain(text) != plain(word))


def _leaf(text: str) -> str:
    first = re.search(r"[1-9]\d?", text)
    return f"leaf_{first[0]}" if first else text


def _ends(texts: frozenset[str]) -> dict[str, str]:
    """What L means: beside H it is the lock's end, beside R the left one; alone or beside both it is not said."""
    has_hinge, has_right = "h" in texts, "r" in texts
    return {"l": "lock"} if has_hinge and not has_right else {"l": "left"} if has_right and not has_hinge else {}
