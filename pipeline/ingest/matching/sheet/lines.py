"""Lines of text between the rows of a table that say something of all the rows under them.

A name alone (Team North), or labels with what they say, in one cell or in the next (Door: D-101 | Fitted: 3 May 2025).
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.declared.totals import THINGS
from pipeline.ingest.matching.sheet.grid import Grid

# A line that names the week or month of the rows under it.
PERIOD = re.compile(
    r"(?:week|w/?c|wk|month|period|quarter|q[1-4]|jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)"
    r"[a-z]*\b[\s\d./'-]*(?:\d|\b)$|(?:week|w/?c|wk|month|period|quarter)\b",
    re.IGNORECASE,
)
_LONGEST_NAME, _LONGEST_LABEL, _FEWEST_LETTERS, _FEWEST_SIGNS = 40, 40, 3, 2
# How many of something stand under a name: Team North (12 doors).
_HOW_MANY = re.compile(r"\s*(?:[(\[]\s*\d+[^()\[\]]*[)\]]|[-–:]\s*\d+\s+[^\W\d_]+)\s*$")
# Beside it in a cell of its own; a number and a unit are what was read.
_COUNTED = re.compile(rf"[(\[]?{THINGS}[)\]]?", re.IGNORECASE)
_BETWEEN = " \t:#.=-–—"


@dataclass(frozen=True)
class Line:
    """row: from 0. said: (text, column of what it says where that has a cell of its own): ("Team: North", 1)."""

    row: int
    said: tuple[tuple[str, int | None], ...]

    @property
    def is_name(self) -> bool:
        """Whether it is one text without a label."""
        return len(self.said) == 1 and ":" not in self.said[0][0]

    @property
    def name(self) -> str:
        """The text, without how many of something stand under it."""
        return _HOW_MANY.sub("", self.said[0][0])


def line_at(grid: Grid, row: int) -> Line | None:
    """The line that a row is; None where it is none: a row of several cells that no labels name."""
    cells = grid.texts[row]
    places = grid.filled(row)
    if len(places) == 1 or (len(places) == 2 and _COUNTED.fullmatch(cells[places[1]])):
        text = " ".join(cells[places[0]].split())
        is_text = sum(map(str.isalnum, text)) >= _FEWEST_SIGNS and len(text) <= _LONGEST_NAME
        return Line(row, ((text, None),)) if is_text else None
    said: list[tuple[str, int | None]] = []
    while places:
        place, beside = places.pop(0), None
        label, colon, rest = cells[place].partition(":")
        if not colon or len(label) > _LONGEST_LABEL or not any(map(str.isalpha, label)):
            return None
        if not rest.strip() and places and ":" not in cells[places[0]]:
            beside = places.pop(0)
            rest = cells[beside]
        said.append((f"{' '.join(label.split())}: {' '.join(rest.split())}", beside))
    return Line(row, tuple(said)) if said else None


def after(text: str, label: str) -> str | None:
    """What follows a label (folded) in a text: North in "Team: North"; None where the text does not begin with it."""
    if not folded(text).startswith(label) or text[len(label) : len(label) + 1].isalnum():
        return None
    return text[len(label) :].strip(_BETWEEN)


def is_worded(line: Line) -> bool:
    """Whether a line is made of words, not a mere number."""
    return sum(map(str.isalpha, line.said[0][0])) >= _FEWEST_LETTERS


def said_over(
    rows: Iterable[int], lines: list[Line], label: str | None, others: tuple[str, ...], read: Callable[[int, int], str]
) -> list[str]:
    """What the lines over each of some rows (in their order) say: after a label (folded), or by a name alone (None).

    others  labels that other columns are read from: a line that begins with one is no name
    read    the cell of a row and a column, where what is said has a cell of its own

    What is said holds until it is said anew. A line with what is said before it in other lines begins something new: of
    that nothing is known that it does not say itself.
    """
    places = _order(lines)
    found, waiting, now, was_row = [], list(lines), "", False
    for row in rows:
        while waiting and waiting[0].row < row:
            line = waiting.pop(0)
            own = _said_by(line, label, others, read)
            if own is None and label is not None and was_row and _begins_anew(line, label, places):
                own = ""
            now, was_row = (now if own is None else own), False
        found.append(now)
        was_row = True
    return found


def _said_by(line: Line, label: str | None, others: tuple[str, ...], read: Callable[[int, int], str]) -> str | None:
    if label is None:
        is_named = line.is_name and not PERIOD.match(line.name)
        return line.name if is_named and all(after(line.name, other) is None for other in others) else None
    for text, place in line.said:
        if (value := after(text, label)) is not None:
            return value if place is None else read(line.row, place)
    return None


def _order(lines: list[Line]) -> dict[str, int]:
    """The order in which labels with a colon are first met."""
    labels = [folded(text.partition(":")[0]) for line in lines for text, _ in line.said if ":" in text]
    return {label: place for place, label in enumerate(dict.fromkeys(labels))}


def _begins_anew(line: Line, label: str, places: dict[str, int]) -> bool:
    """Whether a line has a label that is met before another one."""
    own = [places[name] for text, _ in line.said if (name := folded(text.partition(":")[0])) in places]
    return label in places and any(place < places[label] for place in own)
