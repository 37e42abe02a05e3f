"""Takes texts of the erased out of other cells: one rule when they are erased and whenever a file is taken in again.

A name in the wrong column is set aside with what it says, or stands in a column of free words. Texts are compared
without case, accents and signs.
"""

import json
import re
from collections.abc import Callable
from dataclasses import dataclass

from pipeline.ingest.linking.names import plain_text
from pipeline.ingest.mending.ledger import as_json

# What stands where an erased text stood.
WITHOUT = "(erased)"
# A shorter text, or a single word, may be anybody's: it goes only where it is all that a cell set aside says.
SHORTEST = 6
_WORD = re.compile(r"[^\W_]+")
_QUOTED = re.compile(r"'([^']*)'")


def plain(text: str | None) -> str:
    """A text as it is compared: its words in upper case, without accents."""
    return " ".join(plain_text(word) for word in _WORD.findall(text or ""))


def is_telling(text: str) -> bool:
    """Whether a text is one person's wherever it stands. text: as it is compared."""
    return len(text) >= SHORTEST and " " in text


@dataclass(frozen=True)
class TextRule:
    """Which texts, as they are compared, go: where they are all that is said, and wherever they stand.

    lengths  how many words those have that go wherever they stand
    """

    goes_alone: Callable[[str], bool]
    goes_anywhere: Callable[[str], bool]
    lengths: tuple[int, ...]

    def without(self, cell: str, is_as_written: bool) -> str:
        """A cell without the texts. is_as_written: it is a cell set aside, or quotes one."""
        if is_as_written and self.goes_alone(plain(cell)):
            return WITHOUT
        cell = self._without_telling(cell)
        if is_as_written and "'" in cell:
            return _QUOTED.sub(lambda found: f"'{WITHOUT}'" if self.goes_alone(plain(found[1])) else found[0], cell)
        return cell

    def _without_telling(self, cell: str) -> str:
        words = [(found.start(), found.end(), plain_text(found[0])) for found in _WORD.finditer(cell)]
        parts, done, at = [], 0, 0
        while at < len(words):
            end = at + self._n_telling([word for _, _, word in words[at : at + max(self.lengths, default=0)]])
            if end > at:
                parts += [cell[done : words[at][0]], WITHOUT]
                done = words[end - 1][1]
            at = max(end, at + 1)
        return "".join([*parts, cell[done:]])

    def _n_telling(self, words: list[str]) -> int:
        """With how many of the words a text begins that goes; 0 where none does."""
        lengths = (length for length in sorted(self.lengths, reverse=True) if length <= len(words))
        return next((length for length in lengths if self.goes_anywhere(" ".join(words[:length]))), 0)


def in_json(cells: str, rule: TextRule) -> str:
    """Cells as JSON by column, without the texts; as it was where none is among them."""
    said = json.loads(cells)
    left = {
        name: rule.without(text, is_as_written=True) if isinstance(text, str) else text for name, text in said.items()
    }
    return cells if left == said else as_json(left)
