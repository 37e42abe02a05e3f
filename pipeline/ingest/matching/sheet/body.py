"""The rows under a header as columns of text: blank rows, totals and repeated headers passed over, blanks filled."""

import re
from dataclasses import dataclass, field
from functools import cached_property
from math import isclose
from typing import Protocol

from pipeline.errors import few_of
from pipeline.ingest.declared.mapping import SheetMap, folded
from pipeline.ingest.declared.totals import COUNT, SUMS_UP
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.headings import JOINT, Heads, without_number
from pipeline.ingest.matching.sheet.lines import PERIOD, Line, is_worded, line_at, said_over
from pipeline.ingest.matching.sheet.unheaded import unheaded
from pipeline.ingest.records import DAY, INSTALLS, NUMBERS_OF, Column

_PLAIN_NUMBER = re.compile(r"[+-]?\d+(?:\.\d+)?")
# A line of sums says what they are of, and how many: May total | 5 doors.
_MOST_OF_SUMS = 2
# A line of so many words under a table is a note.
_WORDS_OF_A_NOTE = 3
# So many rows that are passed over are told by number.
_MOST_TOLD = 6
# A table of so many headings has no row of one text alone.
_WIDE = 4
# Marks that people write for "the same as above".
DITTO = frozenset({
    '"', "''", "”", "“", "„", "〃", "″", '""', '" "', ",,", "do", "do.", "-do-", "- do -", "dto", "dto.", "ditto",
    '-"-', "-''-", "-”-", "as above", "same", "same as above",
})  # fmt: skip


class Cells(Protocol):
    """The cells of a sheet by heading (folded): one text, and where it stands, for each of `height` rows."""

    @property
    def height(self) -> int:
        """How many rows there are."""

    def texts(self, heading: str, is_day: bool = False) -> list[str]:
        """The cells under a heading."""

    def own(self, heading: str) -> list[bool]:
        """Whether each cell was written itself, not filled from above."""

    def rows(self, heading: str | None = None) -> list[int]:
        """The spreadsheet rows of the cells, from 1."""

    def place(self, heading: str) -> int:
        """The spreadsheet column of a heading, from 1."""

    def written(self, heading: str) -> str:
        """The heading as the sheet writes it."""

    def above(self, label: str, is_day: bool = False) -> str:
        """What stands beside or after a label above the header; empty where there is none."""

    def over(self, label: str | None, column: Column) -> list[str]:
        """For each row, what the lines of text between the rows say of a column: after a label, or by a name alone."""

    def notes(self) -> list[str]:
        """What was passed over, in sentences."""


@dataclass
class TableCells:
    """The cells under a header. passed: rows passed over, by why.

    lines    those between the rows that say something of the rows under them
    numbers  the spreadsheet row of each row of the grid, where some of the sheet's are left out of it
    """

    grid: Grid
    heads: Heads
    sheet_map: SheetMap
    passed: dict[str, list[int]] = field(default_factory=dict)
    numbers: list[int] | None = None
    lines: list[Line] = field(default_factory=list)
    _shapes: dict[int, set[str]] = field(default_factory=dict, repr=False)

    @cached_property
    def _body(self) -> list[int]:
        """The rows that hold records, from 0."""
        rows = [row for row in range(self.heads.body, len(self.grid.rows)) if not self._is_passed(row)]
        return self._without_sums(rows) if self.sheet_map.fill_down else rows

    def _number(self, row: int) -> int:
        return self.grid.top + row + 1 if self.numbers is None else self.numbers[row]

    def _column(self, column: int) -> list[str]:
        rows = self.grid.texts
        return [rows[row][column] if column < len(rows[row]) else "" for row in self._body]

    @property
    def height(self) -> int:
        """How many rows there are."""
        return len(self._body)

    def texts(self, heading: str, is_day: bool = False) -> list[str]:
        """The cells under a heading, ditto marks as the cell above; blanks too where the mapping says so."""
        column = self.heads.places[heading]
        texts = [self.grid.day(row, column) for row in self._body] if is_day else self._column(column)
        return filled(texts) if heading in self.sheet_map.fill_down else without_dittos(texts)

    def own(self, heading: str) -> list[bool]:
        """Whether each cell was written itself."""
        column = self.heads.places[heading]
        texts = self._column(column)
        return [not _is_same(text) for text in texts]

    def rows(self, heading: str | None = None) -> list[int]:
        """The spreadsheet rows of the cells."""
        return [self._number(row) for row in self._body]

    def place(self, heading: str) -> int:
        """The spreadsheet column of a heading."""
        return self.grid.left + self.heads.places[heading] + 1

    def written(self, heading: str) -> str:
        """The heading as the sheet writes it."""
        return self.heads.written[self.heads.places[heading]]

    def above(self, label: str, is_day: bool = False) -> str:
        """What stands after a label above the header, in its cell or the one beside it."""
        for row in range(self.heads.row):
            for column in range(self.grid.width):
                if found := beside(self.grid, (row, column), label, is_day):
                    return found
        return ""

    def over(self, label: str | None, column: Column) -> list[str]:
        """For each row, what the lines over it say of a column: after a label, or by a name alone."""
        rows, others = self._body, tuple(filter(None, self._labels))
        lines = [*self._lines_above(label), *self.lines]
        if label is None and column.name not in NUMBERS_OF:
            lines = [line for line in lines if is_worded(line)]
        return said_over(rows, lines, label, others, self.grid.day if column.kind == DAY else self.grid.text)

    def labels_of_lines(self) -> list[str]:
        """The labels of the lines between the rows, as written first."""
        labels = [text.partition(":")[0] for line in self.lines for text, _ in line.said if ":" in text]
        return list({folded(label): label for label in reversed(labels)}.values())[::-1]

    def _lines_above(self, label: str | None) -> list[Line]:
        """Lines over the header: those with labels, and a name right over it where the header stands again below."""
        filled = [row for row in range(self.heads.row) if not self.grid.is_blank(row)]
        found = [line for row in filled if (line := line_at(self.grid, row)) is not None]
        if label is None:
            return [line for line in found if line.row in filled[-1:] and "headings again" in self.passed]
        return [line for line in found if not line.is_name]

    def _is_passed(self, row: int) -> bool:
        why = self._why_passed(row)
        if why:
            self.passed.setdefault(why, []).append(self._number(row))
        return why is not None

    def _why_passed(self, row: int) -> str | None:
        """Why a row is passed over; empty where that is not told, None where the row may hold a record."""
        cells = self.grid.texts[row]
        first = next(filter(None, cells), "")
        if not first:
            return ""
        is_sum = self._alone.fullmatch(first) or self._of_something.fullmatch(first)
        if self._totals.match(first) or (is_sum and self._are_numbers(row)) or self._counts(row, first):
            return "totals"
        if why := self._left_out(cells):
            return why
        if (line := self._line(row)) is not None:
            self.lines.append(line)
            return ""
        if self._sums_up(row):
            return "totals"
        if self._is_section(row):
            return "a line of text alone"
        return "headings again" if self._is_header(cells) else None

    def _without_sums(self, rows: list[int]) -> list[int]:
        """The rows without those of nothing but numbers that are the sums or means of the rows above.

        Where blanks are filled from above, a row of totals without a name would pass for one more row of the last door.
        """
        kept: list[int] = []
        sums: dict[int, list[float]] = {}
        for row in rows:
            numbers = self._numbers(row)
            only_numbers = len(numbers) == sum(map(bool, self.grid.texts[row]))
            if numbers and only_numbers and (what := _made_of(numbers, sums)):
                self.passed.setdefault(f"{what} of the rows above", []).append(self._number(row))
                continue
            kept.append(row)
            for place, number in numbers.items():
                sums.setdefault(place, []).append(number)
        return kept

    def _numbers(self, row: int) -> dict[int, float]:
        """The numbers of a row by column."""
        cells = self.grid.rows[row]
        return {
            place: float(cell)
            for place, cell in enumerate(cells)
            if isinstance(cell, int | float) or (isinstance(cell, str) and _PLAIN_NUMBER.fullmatch(cell.strip()))
        }

    def _sums_up(self, row: int) -> bool:
        """Whether a row of a wide table is nothing but texts that sum up, and numbers: March: 5 units, 14."""
        texts = [self.grid.text(row, place) for place in self.grid.filled(row)]
        words = [text for text in texts if not _PLAIN_NUMBER.fullmatch(text)]
        is_short = len(words) <= _MOST_OF_SUMS and len(texts) < self.width
        return self._is_wide and is_short and bool(words) and all(SUMS_UP.fullmatch(text) for text in words)

    def _is_section(self, row: int) -> bool:
        """Whether a row of a wide table is nothing but a text without digits: a month, a signature."""
        if not self._is_wide or not self.sheet_map.records or len(places := self.grid.filled(row)) != 1:
            return False
        place = places[0]
        text = self.grid.text(row, place)
        if sum(map(str.isalpha, text)) <= 2:
            return False
        if row > self._last_of_several and len(text.split()) >= _WORDS_OF_A_NOTE:
            # a note under the table, whatever stands in its column: Van 1 = Blythe and Fenn
            return True
        is_named = not any(map(str.isdecimal, text)) or PERIOD.match(text) is not None
        return is_named and not self._is_filled_down(place)

    @cached_property
    def _last_of_several(self) -> int:
        """The last row in which more than one cell is filled."""
        rows = range(len(self.grid.rows) - 1, self.heads.body - 1, -1)
        return next((row for row in rows if len(self.grid.filled(row)) > 1), -1)

    @cached_property
    def _is_wide(self) -> bool:
        """Whether a row of one text alone is none of the table."""
        return sum(map(bool, self.heads.written)) >= _WIDE

    def _is_filled_down(self, place: int) -> bool:
        """Whether blanks under the heading of a column are filled from above."""
        return place < self.width and folded(self.heads.written[place]) in self.sheet_map.fill_down

    @cached_property
    def _labels(self) -> list[str | None]:
        """What the mapping reads from lines between the rows: labels, and None for a name alone."""
        sources = [source for one in self.sheet_map.records for _, source in one.columns]
        return [source.after or None for source in sources if source.from_lines]

    def _line(self, row: int) -> Line | None:
        """The line between the rows that a row is, where the mapping reads them or is yet to be made."""
        if self.sheet_map.records and not self._labels:
            return None
        line = line_at(self.grid, row) if self._is_wide else None
        if line is None or not line.is_name:
            return line
        return line if self._stands_out(row, self.grid.filled(row)[0]) else None

    def _stands_out(self, row: int, place: int) -> bool:
        """Whether a text alone in its row is unlike the cells of its column that stand beside others."""
        if place not in self._shapes:
            rows = [row for row in range(self.heads.body, len(self.grid.rows)) if line_at(self.grid, row) is None]
            beside = [self.grid.text(row, place) for row in rows]
            self._shapes[place] = {_shape(text) for text in beside if text}
        shapes = self._shapes[place]
        is_headed = place < self.width and self.heads.written[place]
        return _shape(self.grid.text(row, place)) not in shapes if shapes else not is_headed

    def _left_out(self, cells: list[str]) -> str:
        """What says that a row is to be left out: Type is 'Sales enquiry'; empty where nothing does."""
        for heading, texts in self.sheet_map.leave_out:
            place = self.heads.places.get(heading)
            if place is not None and place < len(cells) and folded(cells[place]) in texts:
                return f"{self.heads.written[place]} is '{cells[place]}'"
        return ""

    def _is_header(self, cells: list[str]) -> bool:
        """Whether a row repeats the headings: most of its cells say what stands over them."""
        same = 0
        for cell, tails in zip(cells, self._tails, strict=False):
            same += cell[:1].isalpha() and bool(tails) and folded(cell) in tails
        return same >= 2 and same * 2 > sum(map(bool, cells))

    @cached_property
    def _tails(self) -> list[tuple[str, ...]]:
        """For each column, the texts of its header rows."""
        parts = [folded(without_number(head)).split(JOINT) for head in self.heads.written]
        return [(*part, JOINT.join(part)) if part != [""] else () for part in parts]

    @cached_property
    def _totals(self) -> re.Pattern[str]:
        """What a row of totals begins with."""
        words = "|".join(map(re.escape, self.sheet_map.skip)) or r"(?!)"
        return re.compile(rf"(?:{words})s?(?!\w)", re.IGNORECASE)

    @cached_property
    def _alone(self) -> re.Pattern[str]:
        """What names a row of totals where nothing but numbers follows."""
        words = "|".join(map(re.escape, self.sheet_map.skip_alone)) or r"(?!)"
        return re.compile(rf"(?:{words})s?(?:[.:]|\s*\(.*\))*", re.IGNORECASE)

    @cached_property
    def _of_something(self) -> re.Pattern[str]:
        """What names a row of totals of something, where nothing but numbers follows: February total."""
        words = "|".join(map(re.escape, self.sheet_map.skip)) or r"(?!)"
        return re.compile(rf"[^\W\d_][\w ./&'-]*\W(?:{words})s?\W*", re.IGNORECASE)

    def _are_numbers(self, row: int) -> bool:
        """Whether all that follows the first filled cell of a row are numbers."""
        filled = sum(map(bool, self.grid.texts[row]))
        return 1 < filled == 1 + len(self._numbers(row))

    def _counts(self, row: int, first: str) -> bool:
        """Whether a row says how many there are of what the table lists: 24 jobs, and sums behind it, but no door."""
        if not self.sheet_map.skip_alone or not COUNT.fullmatch(first):
            return False
        doors = {dict(one.columns).get(INSTALLS.key[0]) for one in self.sheet_map.records}
        places = {self.heads.places.get(folded(one.heading)) for one in doors if one and one.heading}
        names_door = any(at is not None and self.grid.text(row, at) not in ("", first) for at in places)
        return not names_door and self._are_sums(row)

    def _are_sums(self, row: int) -> bool:
        """Whether all that follows the first filled cell of a row are numbers, counts or names of totals."""
        numbers = self._numbers(row)
        _, *rest = self.grid.filled(row)
        texts = [self.grid.text(row, place) for place in rest if place not in numbers]
        return all(self._totals.match(text) or COUNT.fullmatch(text) for text in texts)

    @property
    def width(self) -> int:
        """Columns that the header has."""
        return len(self.heads.written)

    def notes(self) -> list[str]:
        """What was passed over, in sentences."""
        body = self._body  # what is passed over is known once the rows have been gone through
        passed = [f"{_told(rows)} passed over: {why}" for why, rows in self.passed.items()]
        if self.numbers is not None:
            return passed
        return passed + unheaded(self.grid, self.heads.written, body, is_turned=self.sheet_map.across)


def beside(grid: Grid, place: tuple[int, int], label: str, is_day: bool) -> str:
    """What follows a label: in its own cell after a colon, else in the cell beside it; empty if it is not there."""
    row, column = place
    text, read = grid.text(row, column), grid.day if is_day else grid.text
    name, _, rest = text.partition(":")
    if not text or folded(name) != label:
        return ""
    if rest.strip():
        return rest.strip()
    return read(row, grid.column_after(row, column))


def _made_of(numbers: dict[int, float], above: dict[int, list[float]]) -> str:
    """What numbers of at least two columns are of those above them: sums, means (to two decimals), or nothing."""
    if len(numbers) < 2 or any(len(above.get(place, [])) < 2 for place in numbers):
        return ""
    if all(isclose(number, sum(above[place]), rel_tol=1e-9) for place, number in numbers.items()):
        return "sums"
    means = ((number, sum(above[place]) / len(above[place])) for place, number in numbers.items())
    return "means" if all(isclose(number, mean, abs_tol=0.005) for number, mean in means) else ""


def _shape(text: str) -> str:
    """A text with its numbers as one sign: D-101 and D-7 look alike, Van 3 does not."""
    return re.sub(r"\d+(?:[.,]\d+)*", "0", text.casefold())


def _is_same(text: str) -> bool:
    return not text or is_ditto(text)


def is_ditto(text: str) -> bool:
    """Whether a text is a mark for the same as above."""
    return text.casefold() in DITTO


def without_dittos(texts: list[str]) -> list[str]:
    """Texts, ditto marks as the one above; a mark under a blank says as little as the blank."""
    found: list[str] = []
    for text in texts:
        found.append((found[-1] if found else "") if is_ditto(text) else text)
    return found


def filled(texts: list[str]) -> list[str]:
    """Texts, those that are blank or say that they are the same as the one above."""
    found, last = [], ""
    for text in texts:
        last = last if _is_same(text) else text
        found.append(last)
    return found


def _told(rows: list[int]) -> str:
    return f"{'row' if len(rows) == 1 else 'rows'} {few_of(list(map(str, rows)), _MOST_TOLD)}"
