"""What a column is by its contents alone: every cell is a place, a unit or a closed word of the trade."""

import re

from pipeline.ingest.matching.words.heading_units import unit_named
from pipeline.ingest.matching.words.vocabulary import meant_by, trade_words, words_of
from pipeline.ingest.texts.words import LEAF_WORDS

# How sure a column is by its contents: less than by a heading that says it.
BY_CONTENTS = 0.8
# Leaf 2, P2, 1 (traffic)
_ROLE = r"\s*[-(]?\s*(?:traffic|master|lead|access|slave|main|active)\)?"
# 2 of 4: the second of four leaves
_LEAF = re.compile(
    rf"(?:leaf|lf|l|panel|p|sash|door|wing)[ ._-]*\d{{1,2}}(?:{_ROLE}|\s*of\s*\d{{1,2}})?"
    rf"|\d{{1,2}}(?:{_ROLE}|\s*of\s*\d{{1,2}})"
)
_MEMBERS = {
    "left_jamb": ({"left"}, {"left", "jamb"}, {"l", "jamb"}),
    "right_jamb": ({"right"}, {"right", "jamb"}, {"r", "jamb"}),
    "head": ({"head"}, {"top"}),
    "sill": ({"sill"}, {"threshold"}, {"bottom"}),
}
_PLAINLY = frozenset({"jamb", "head", "sill", "threshold"})
_SAYS_ITSELF = (("installs", "material"), ("installs", "work"))
_SHORTEST = 3
# How many leaves a door has, in words: 4 leaf, 3 no. panels.
_LEAVES = re.compile(rf"\d{{1,2}}\s*(?:no\.?|nr\.?|off|x|-)?\s*(?:{LEAF_WORDS})")
# Words for a kind of something, and those that say that it is one of faults.
KINDS = frozenset({"type", "kind", "category", "class", "nature", "reason"})
_KINDS = KINDS | {"subject", "group", "classification", "code"}
_FAULTS = frozenset({"fault", "faults", "defect", "failure", "diagnosis", "problem", "symptom", "found"})
_MOST_FAULTS, _MOST_WORDS = 0.6, 0.5
_WORDED = {("training", "step"): "step", ("callbacks", "fault"): "fault", ("readings", "station"): "station"}


def is_by_contents(record: str, column: str, texts: frozenset[str]) -> bool:
    """Whether the different cells (in small letters) of a column can be nothing else than that column of a record."""
    if (record, column) in _SAYS_ITSELF:
        return bool(texts) and all(len(text) >= _SHORTEST and meant_by(text, trade_words(column)) for text in texts)
    if (record, column) == ("installs", "leaves"):
        return bool(texts) and all(map(counts_leaves_in_words, texts))
    if len(texts) < 2 and column != "unit":
        return False
    if (record, column) == ("readings", "unit"):
        return bool(texts) and all(map(unit_named, texts))
    if column == "member" and record in ("readings", "checks"):
        return all(map(is_leaf, texts)) or are_members(texts)
    list_name = _WORDED.get((record, column))
    return list_name is not None and all(meant_by(text, trade_words(list_name)) for text in texts)


def counts_leaves_in_words(text: str) -> bool:
    """Whether a cell says how many leaves a door has, and of what: 4 leaf."""
    return _LEAVES.fullmatch(text) is not None


def as_kind_of_fault(heading: str, texts: frozenset[str]) -> float | None:
    """How sure a heading of kinds, such as contact reason, is one of faults by its different cells; None for others."""
    words = set(words_of(heading))
    if not words & _KINDS or not texts:
        return None
    if _say_blame(texts):
        return 0.0
    share = _share_worded("fault", texts)
    if share >= _MOST_FAULTS:
        return BY_CONTENTS
    # who calls a column so without a word for faults, and writes none in it, means something else by it
    return 0.0 if share == 0 and not words & _FAULTS else None


def as_kind_of_blame(heading: str, texts: frozenset[str]) -> float | None:
    """How sure a heading of kinds is one of responsibilities by its different cells; None for others."""
    is_of_kinds = bool(set(words_of(heading)) & _KINDS)
    return BY_CONTENTS if is_of_kinds and _say_blame(texts) else None


def _say_blame(texts: frozenset[str]) -> bool:
    """Whether different cells say who is responsible, at least as many of them as say a fault."""
    share = _share_worded("responsibility", texts)
    return share >= _MOST_FAULTS and share >= _share_worded("fault", texts)


def say_words(column: str, texts: frozenset[str]) -> bool:
    """Whether most different cells, long as they are, are ways to say a closed word: fair wear and tear."""
    return _share_worded(column, texts) > _MOST_WORDS


def _share_worded(column: str, texts: frozenset[str]) -> float:
    """The share of different cells that are ways to say a closed word."""
    return sum(meant_by(text, trade_words(column)) is not None for text in texts) / max(1, len(texts))


def is_leaf(text: str) -> bool:
    """Whether a cell names a leaf."""
    return bool(_LEAF.fullmatch(text.casefold()))


def are_members(texts: frozenset[str]) -> bool:
    """Whether every cell of a column names a member of the frame, and not all of them may as well name an end."""
    return all(map(member_named, texts)) and any(_PLAINLY & set(words_of(text)) for text in texts)


def member_named(text: str) -> str | None:
    """The member of the frame that a text names and nothing else: LH jamb, Top, Cill."""
    words = frozenset(words_of(text)) - {"frame", "member"}
    return next((member for member, ways in _MEMBERS.items() if words in ways), None)
