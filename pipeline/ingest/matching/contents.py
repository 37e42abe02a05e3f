"""What a column is by its contents alone: every cell is a place, a unit or a closed word of the trade."""

import re

from pipeline.ingest.matching.vocabulary import meant_by, trade_words, unit_named

# How sure a column is by its contents: less than by a heading that says it.
BY_CONTENTS = 0.8
_LEAF = re.compile(r"(?:leaf|lf|l|panel|p|sash)[ ._-]*\d{1,2}")
_WORDED = {("training", "step"): "step", ("callbacks", "fault"): "fault", ("readings", "station"): "station"}


def is_by_contents(record: str, column: str, texts: frozenset[str]) -> bool:
    """Whether the different cells (in small letters) of a column can be nothing else than that column of a record."""
    if len(texts) < 2 and column != "unit":
        return False
    if (record, column) == ("readings", "unit"):
        return bool(texts) and all(map(unit_named, texts))
    if column == "member" and record in ("readings", "checks"):
        return all(map(is_leaf, texts))
    list_name = _WORDED.get((record, column))
    return list_name is not None and all(meant_by(text, trade_words(list_name)) for text in texts)


def is_leaf(text: str) -> bool:
    """Whether a cell names a leaf."""
    return bool(_LEAF.fullmatch(text.casefold()))
