"""Headings that list the answers that may stand under them: Our fault / maker / wear, Timber or alu, Us, them, wear.

Such a heading names its column by the answers alone, where the cells give those and no others. Cells may be short for
them by the letters they begin with: F, M and W under Fitting / maker / wear. How offices head such columns is common
practice, no source.
"""

import re
from functools import lru_cache

from pipeline.ingest.matching.words.vocabulary import meant_by, trade_words
from pipeline.ingest.texts.not_said import NOTHING

# Closed words of which a heading may list some.
_COLUMNS = frozenset({"responsibility", "fault", "material", "colour", "work"})
_BETWEEN = re.compile(r"\s*(?:[/|,;()\[\]?]|\bor\b)\s*", re.IGNORECASE)
_FEWEST = 2


@lru_cache(maxsize=20_000)
def listed_in(column: str, heading: str) -> tuple[tuple[str, str], ...]:
    """(answer, the closed word it means) for each that a heading lists, two words at least; else none.

    One part may be none of a column's words: what the others are answers to, or one that nobody gives.
    """
    if column not in _COLUMNS:
        return ()
    parts = _parts(heading)
    found = [(part, word) for part in parts if (word := meant_by(part, trade_words(column)))]
    is_list = len({word for _, word in found}) >= _FEWEST and len(parts) - len(found) <= 1
    return tuple(found) if is_list else ()


def lists_its_cells(column: str, heading: str, texts: frozenset[str]) -> bool:
    """Whether a heading lists closed words of a column and all different cells (in small letters) under it are of them.

    A heading that is a list of two columns' words is neither's.
    """
    said = texts - NOTHING
    if not said or not listed_in(column, heading):
        return False
    fitting = [one for one in _COLUMNS if listed_in(one, heading) and all(_word(one, heading, text) for text in said)]
    return fitting == [column]


def listed_letters(column: str, heading: str, texts: frozenset[str]) -> tuple[tuple[str, str], ...]:
    """(as written, the word it means) of the cells that are short for an answer that their heading lists."""
    if not lists_its_cells(column, heading, texts):
        return ()
    short = ((text, _beginning(column, heading, text)) for text in sorted(texts))
    return tuple((text, word) for text, word in short if word)


def _word(column: str, heading: str, text: str) -> str | None:
    """The closed word that a cell gives, of those its heading lists."""
    word = meant_by(text, trade_words(column))
    return word if word in dict(listed_in(column, heading)).values() else _beginning(column, heading, text)


def _beginning(column: str, heading: str, text: str) -> str | None:
    """The word of the only answer in a heading that begins with the letters of a cell.

    What else the heading lists counts as well, whatever it means: F is not fitting under Fitting / frost / wear.
    """
    letters, said = text.strip(". "), dict(listed_in(column, heading))
    words = {said.get(part) for part in _parts(heading) if letters and part.startswith(letters)}
    is_short = letters.isalpha() and meant_by(text, trade_words(column)) is None
    return words.pop() if is_short and len(words) == 1 else None


def _parts(heading: str) -> list[str]:
    return [part.casefold() for part in _BETWEEN.split(heading) if part.strip()]
