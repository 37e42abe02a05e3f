"""Finds how a sheet is laid out: where its header is and how many rows it has, and which blanks mean "as above"."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import groupby

from pipeline.ingest.declared.mapping import SheetMap, folded
from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.columns.evidence import Evidence, look_at
from pipeline.ingest.matching.columns.group_ends import with_ends
from pipeline.ingest.matching.columns.known import NOTHING_KNOWN, Known
from pipeline.ingest.matching.sheet.body import TableCells
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.headings import DEEPEST_HEADER, JOINT, Heads, heads_at, without_number
from pipeline.ingest.matching.words.heading_units import unit_named
from pipeline.ingest.matching.words.meaning import check_meaning, likeness_under, reading_meaning
from pipeline.ingest.matching.words.vocabulary import ways
from pipeline.ingest.records import CALLBACKS, CHECKS, DAY, INSTALLS, READINGS, record_named

_MOST_HEADER_ROWS, _LONGEST_HEADING, _MOST_HEADINGS = 3, 80, 500
# Blanks this frequent under a heading, where no text is ever written twice, mean "as above".
_BLANKS_AS_ABOVE, _REPEATS_AT_MOST, _REPEATS_WHERE_NEEDED = 0.15, 0.05, 0.2
# As sure as this a text under a merged heading is a heading itself.
_IS_HEADING = 0.6
# Of a form's readings and checks labels say these; what was read or seen, and where, is said by its small tables.
_IN_FORMS = {READINGS.name: ("read_on", "read_by", "instrument"), CHECKS.name: ("checked_on",)}
_NO_NUMBERS = ("read_by", "customer", "address", "note")
_RECORDS_OF_FORMS = (INSTALLS.name, CALLBACKS.name, READINGS.name, CHECKS.name)
_ROWS_LOOKED_AT = 5
# Letters of a word such as centre.
_LONGEST_OF_A_PLACE = 8
# What else stands in a row of units.
_BESIDE_UNITS = frozenset({"no", "nr", "qty", "-", "pcs", "date", "text", "y/n", "n/a"})
# A heading weighs a little over 1 at most, as the longer of two ways to read it is the surer one.
_MOST_SAID = 1.1
# What a heading weighs that stands a second time, as headings.py tells them apart.
_AGAIN, _SAID_AGAIN = re.compile(r" \[\d+\]$"), 0.6


@dataclass(frozen=True)
class Layout:
    """A header found, the cells under it, and what stands in each column, by folded heading.

    sheet_names  of all sheets that are laid out so
    crew_said    the crew that the name of the file says
    is_of_crew   the name of the sheet is that of a crew
    known        numbers that other sheets give to doors and jobs
    positions    of headings whose readings have their distances in cells of their own: the headings of these
    titles_beside  texts of a form that stand alone, or say how to fill it in
    """

    grid: Grid
    heads: Heads
    cells: TableCells
    evidence: dict[str, Evidence]
    sheet_names: tuple[str, ...] = ()
    is_of_crew: bool = False
    crew_said: str = ""
    known: Known = NOTHING_KNOWN
    positions: dict[str, str] = field(default_factory=dict)
    titles_beside: tuple[str, ...] = ()

    def written(self, heading: str) -> str:
        """A heading as the sheet writes it."""
        return self.cells.written(heading)

    def said(self, heading: str) -> str:
        """What a heading says, without the number of its box on paper, its codes in the words of a key."""
        return self.known.in_full(self.heads.said.get(heading, self.written(heading)))

    def is_coded(self, heading: str) -> bool:
        """Whether another sheet says what codes in a heading mean."""
        written = self.written(heading)
        return self.known.in_full(written) != " ".join(written.split())

    @property
    def notes(self) -> list[str]:
        """Texts of the sheet that stand over the header, or alone in a row under it."""
        alone = [texts for texts in self.grid.texts[self.heads.body :] if sum(map(bool, texts)) == 1]
        return [*self.titles_over, *self.titles_beside, *(text for texts in alone for text in texts if text)]

    @property
    def titles(self) -> list[str]:
        """Texts of the sheet that stand over the header, and the names of it and of those laid out alike."""
        return [*self.titles_over, *self.sheet_names, self.grid.name or ""]

    @property
    def titles_over(self) -> list[str]:
        """Texts of the sheet that stand over the header."""
        return [text for texts in self.grid.texts[: self.heads.row] for text in texts if text]

    @property
    def named(self) -> tuple[str, ...]:
        """What makes two layouts one: their headings."""
        return tuple(sorted(folded(text) for text in self.heads.written if text))

    def lowest(self, heading: str) -> str:
        """What a heading says itself, without those that stand over it."""
        return without_number(self.said(heading)).rpartition(JOINT)[2]


def find_layout(grid: Grid) -> Layout | None:
    """The header whose headings say most, with what stands under it; None where no row is one."""
    best, best_score = None, 1.5
    for row in range(min(len(grid.rows) - 1, DEEPEST_HEADER)):
        if grid.is_blank(row):
            continue
        for n_rows in range(1, min(_MOST_HEADER_ROWS, len(grid.rows) - row - 1) + 1):
            heads = heads_at(grid, row, n_rows)
            score = _score(grid, with_ends(grid, heads)) if _may_say(heads) > best_score else 0.0
            if score > best_score + 0.01:
                best, best_score = (row, n_rows), score
    if best and best[1] < _MOST_HEADER_ROWS and _begins_above(grid, *best):
        best = best[0] - 1, best[1] + 1
    for goes_on in (_tells_apart, _says_units):
        if best and best[1] < _MOST_HEADER_ROWS and goes_on(grid, *best):
            best = best[0], best[1] + 1
    return layout_at(grid, *best) if best else None


def _begins_above(grid: Grid, row: int, n_rows: int) -> bool:
    """Whether columns of cells that a header does not name are named in the row right above it."""
    heads = heads_at(grid, row, n_rows).written
    below = range(row + n_rows, min(len(grid.rows), row + n_rows + _ROWS_LOOKED_AT))
    unnamed = [at for at in grid.filled(row - 1) if not heads[at]] if row else []
    return any(
        said(grid.text(row - 1, at)) >= _IS_HEADING and any(grid.text(below_it, at) for below_it in below)
        for at in unnamed
    )


def _tells_apart(grid: Grid, row: int, n_rows: int) -> bool:
    """Whether the row under a header has nothing but words that tell headings apart which stand several times."""
    below = row + n_rows
    if below + 1 >= len(grid.rows):
        return False
    heads = heads_at(grid, row, n_rows).written
    plain = [folded(without_number(text)) for text in heads]
    told = {place: text for place, text in enumerate(grid.texts[below]) if text}
    groups = {place: plain[place] if place < len(plain) else "" for place in told}
    are_several = len(told) > 1 and all(not name or plain.count(name) > 1 for name in groups.values())
    are_words = all(text.isalpha() and len(text) <= _LONGEST_OF_A_PLACE for text in told.values())
    is_first = bool(plain) and bool(plain[0]) and 0 not in told
    is_told = are_several and are_words and len(set(told.values())) * 2 >= len(told)
    return is_first and (is_told or _counts_columns(told, groups))


def _counts_columns(told: dict[int, str], groups: dict[int, str]) -> bool:
    """Whether a row counts the columns under each of its headings from 1: those of one fixing after the other."""
    counts: list[list[int]] = []
    last = ""
    for place, text in told.items():
        if not (number := typed_number(text)).isdecimal():
            return False
        last, is_new = groups[place] or last, bool(groups[place]) and groups[place] != last
        counts += [[]] if is_new or not counts else []
        counts[-1].append(int(number))
    return bool(counts) and all(len(one) > 1 and one == list(range(1, len(one) + 1)) for one in counts)


def _says_units(grid: Grid, row: int, n_rows: int) -> bool:
    """Whether a row under the headings says units and nothing else: mm, kg, no."""
    row += n_rows
    texts = [text.casefold().strip("()[] .") for text in grid.texts[row]] if row < len(grid.rows) else []
    units = [text for text in texts if text and unit_named(text)]
    return len(units) > 1 and all(text in _BESIDE_UNITS or unit_named(text) for text in texts if text)


def layout_at(grid: Grid, row: int, n_rows: int) -> Layout:
    """The layout under a known header."""
    heads = with_ends(grid, heads_at(grid, row, n_rows))
    cells = TableCells(grid, heads, SheetMap("*", (), header_rows=n_rows))
    evidence = {folded(text): look_at(_column(grid, cells, place)) for place, text in enumerate(heads.written) if text}
    return Layout(grid, heads, cells, evidence)


def is_as_above(layout: Layout, heading: str, *, is_day: bool = False, is_needed: bool = False) -> bool:
    """Whether blanks or ditto marks under a heading mean that the cell above holds.

    is_needed  a blank can hardly mean that it is not known, so a little more may stand twice: after a line of totals
    is_day  blanks at the end of a list may mean that the day is yet to come
    """
    if is_marked_as_above(layout, heading):
        return True
    evidence = layout.evidence[heading]
    if evidence.dittos and not is_needed:
        return False
    most = _REPEATS_WHERE_NEEDED if is_needed else _REPEATS_AT_MOST
    is_sparse = evidence.blank >= _BLANKS_AS_ABOVE and evidence.filled > 1 and evidence.repeats <= most
    return is_sparse and (not is_day or _are_groups(layout.cells.texts(heading)))


def is_marked_as_above(layout: Layout, heading: str) -> bool:
    """Whether cells merged downwards say so, or ditto marks: beside those a blank says that nothing is known."""
    place, top = layout.heads.places[heading], layout.grid.top + 1
    # headings that stand again further down may be merged as well, and are no rows
    rows = set(layout.cells.rows()) if layout.grid.merges else set()
    is_merged = any(
        area[1] == place == area[3] and area[2] > area[0] and area[0] + top in rows for area in layout.grid.merges
    )
    evidence = layout.evidence[heading]
    return is_merged or bool(evidence.dittos and not evidence.blank)


def is_open_beside(layout: Layout, heading: str, others: list[str]) -> bool:
    """Whether a blank under a heading, not marked as the same as above, stands beside a filled cell of the others."""
    if is_marked_as_above(layout, heading):
        return False
    blanks = [not text for text in layout.cells.texts(heading)]
    return any(
        is_blank and text for other in others for is_blank, text in zip(blanks, layout.cells.texts(other), strict=True)
    )


def _are_groups(texts: list[str]) -> bool:
    """Whether blanks follow what they may repeat: none before it, and at the end no more than between two."""
    runs = [len(list(run)) for is_blank, run in groupby(texts, key=lambda text: not text) if is_blank]
    at_end = len(texts) - max((row for row, text in enumerate(texts) if text), default=-1) - 1
    between = max(runs[:-1] if at_end else runs, default=0)
    return bool(texts and texts[0]) and at_end <= between


def _column(grid: Grid, cells: TableCells, place: int) -> list[object]:
    rows = [grid.rows[row - 1 - grid.top] for row in cells.rows()]
    return [row[place] if place < len(row) else "" for row in rows]


def _may_say(heads: Heads) -> float:
    """More than the headings can say: of rows of numbers and days nothing needs to be looked up."""
    return _MOST_SAID * sum(any(map(str.isalpha, text)) for text in heads.written)


def _score(grid: Grid, heads: Heads) -> float:
    """How much the headings say, less a little for every header row; headings that are data say nothing.

    A heading that stands again says less: the row below may tell the columns apart.
    """
    texts = [text for text in heads.written if text][:_MOST_HEADINGS]
    if len(texts) < 2 or heads.body >= len(grid.rows) or _stands_over_headings(grid, heads):
        return 0.0
    weights = [_SAID_AGAIN if _AGAIN.search(text) else 1.0 for text in texts]
    return sum(weight * said(text) ** 2 for weight, text in zip(weights, texts, strict=True)) - 0.1 * heads.n_rows


def _stands_over_headings(grid: Grid, heads: Heads) -> bool:
    """Whether the last header row is merged over columns that have headings of their own in the row below."""
    last = heads.body - 1
    merged = {
        at for top, left, _, right in grid.merges if top == last and right > left for at in range(left, right + 1)
    }
    below = [text for at in merged if (text := grid.text(heads.body, at))]
    return _are_headings(below)


def _are_headings(texts: list[str]) -> bool:
    """Whether there are several texts and most of them are headings."""
    return len(texts) > 1 and sum(said(text) >= _IS_HEADING for text in texts) > len(texts) / 2


def why_not_read(grid: Grid) -> str:
    """Why nothing of a sheet that is not blank is read: no header is found, or nothing under it."""
    last = max(row for row in range(len(grid.rows)) if not grid.is_blank(row))
    texts = [text for text in grid.texts[last] if text]
    is_header = _are_headings(texts)
    return "it has headings and no row under them yet" if is_header else "no row of it reads as headings"


@lru_cache(maxsize=50_000)
def said(heading: str) -> float:
    """How sure it is that a text is the heading of something: 0 to 1."""
    return _said(heading, ways())


@lru_cache(maxsize=50_000)
def said_in_form(path: str, *, is_day: bool, is_number: bool) -> float:
    """The same of a path in a form, by what it leads to: a form has no columns of items and values."""
    columns = {record: _IN_FORMS.get(record) or tuple(ways()[record]) for record in _RECORDS_OF_FORMS}
    return _said(
        path,
        {
            record: [name for name in named if _may_lead_to(record, name, is_day=is_day, is_number=is_number)]
            for record, named in columns.items()
        },
    )


def _may_lead_to(record: str, column: str, *, is_day: bool, is_number: bool) -> bool:
    """Whether what a label stands beside, a day or a number or neither, may be a column's."""
    is_of_days = record_named(record).column(column).kind == DAY
    return is_day >= is_of_days and not (is_number and column in _NO_NUMBERS)


def _said(heading: str, columns: Mapping[str, Iterable[str]]) -> float:
    if len(heading) > _LONGEST_HEADING or not any(char.isalpha() for char in heading):
        return 0.0
    text = without_number(heading)
    meanings = [one.sure for one in (reading_meaning(text), check_meaning(text)) if one is not None]
    alike = [likeness_under(record, column, text) for record, named in columns.items() for column in named]
    return max([*meanings, *alike, 0.0])
