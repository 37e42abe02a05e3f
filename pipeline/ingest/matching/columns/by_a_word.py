"""Finds the crew and the day of fitting in a list of doors by one word of a heading that is not understood as a whole.

Fitter initials, Fix date, Installing firm: the vocabulary knows the word, not the rest. The cells must bear it out, and
only one column may be meant. How registers look is common practice, no source.
"""

from pipeline.ingest.matching.columns.elimination import FACTS, free_columns, in_order, only
from pipeline.ingest.matching.columns.evidence import Evidence
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.words.vocabulary import composed, words_of
from pipeline.ingest.records import INSTALLS

_FITTING = frozenset({"fit", "fitted", "fix", "fixed", "fixing", "hang", "hanging", "hung", "erected"})
_FIRMS = frozenset({"firm", "company", "outfit"})  # who, where they fit
# Beside these a heading tells of something that the crew does, owes or is paid, not who it is.
_NOT_WHO = frozenset({
    "hours", "time", "date", "rate", "cost", "price", "pay", "paid", "note", "comment", "signed", "phone", "tel",
    "email", "size", "count", "score", "grade", "visited",
})  # fmt: skip
_WHO, _BY_WHOM = frozenset({"by", "who", "initials", "whom", "names"}), frozenset({"by", "who", "whom"})
# Beside by or who these say no more than that it was done: who did it.
_DID = frozenset({"did", "done", "it", "this", "job", "work", "door", "doors"})
_LONGEST_CREW, _MOST_DIFFERENT = 40, 0.5


def by_a_word(layout: Layout, placed: dict[str, str], taken: set[str]) -> dict[str, tuple[str, str]]:
    """By wanting column of a list of doors: (heading, why) of the only column whose heading has a word for it.

    placed  heading of each column that has one; taken: all headings that mean something else
    """
    if len(placed) < FACTS:
        return {}
    free = free_columns(layout, taken)
    may_be = {"crew": _crews(layout, free), "fitted_on": _days(layout, free, placed)}
    why = "a word of its heading says it, and no other column's"
    found = {name: only(those) for name, those in may_be.items() if name not in placed}
    return {name: (heading, why) for name, heading in found.items() if heading}


def by_whom(layout: Layout, taken: set[str]) -> list[str]:
    """Headings (folded) that are not taken and say no more than by whom: By, Who, Who did it."""
    free = {one: set(words_of(layout.lowest(one))) for one in layout.evidence if one not in taken}
    return [one for one, words in free.items() if words <= _WHO or (words & _BY_WHOM and words <= _BY_WHOM | _DID)]


def _crews(layout: Layout, free: list[str]) -> list[str]:
    return [one for one in free if _says_who(set(words_of(layout.lowest(one)))) and _are_names(layout.evidence[one])]


def _says_who(words: set[str]) -> bool:
    is_who = words & composed("crew")[0] or (words & _FITTING and words & _FIRMS)
    return bool(is_who) and not words & _NOT_WHO


def _are_names(evidence: Evidence) -> bool:
    """Whether cells are a few short texts that come again: neither answers to a question, nor days, nor amounts."""
    is_few = 0 < evidence.distinct <= max(2, _MOST_DIFFERENT * evidence.filled)
    has_letters = all(any(map(str.isalpha, text)) for text in evidence.texts)
    return is_few and has_letters and not evidence.are_days and not evidence.ticks and evidence.longest <= _LONGEST_CREW


def _days(layout: Layout, free: list[str], placed: dict[str, str]) -> list[str]:
    days = [one for one in free if layout.evidence[one].are_days and _FITTING & set(words_of(layout.lowest(one)))]
    has_others = bool({"surveyed_on", "handed_over_on", "removed_on"} & placed.keys())
    return in_order(INSTALLS.name, "fitted_on", layout, placed, days) if has_others else days
