"""Gives the headings of a sheet to the columns of one record: the likeness of the words, borne out by the contents."""

import re
from dataclasses import dataclass

from pipeline.ingest.matching.evidence import LEAF_STEPS, Evidence, look_at
from pipeline.ingest.matching.grid import Cell, shown
from pipeline.ingest.matching.headings import JOINT, without_number
from pipeline.ingest.matching.layout import Layout, said
from pipeline.ingest.matching.meaning import SURE, column_likeness
from pipeline.ingest.matching.vocabulary import words_of
from pipeline.ingest.records import DAY, INSTALLS, NUMBER, WHOLE, WORD, Column, Record

# Below this likeness a heading is not even named as a candidate.
FAINT = 0.35
_LABEL_SURE = 0.9
_NO_CREW = re.compile(
    r"\d{3}|\b(?:sheet|table|data|page|week|wk|month|site|door|form|all|q[1-4]|jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)"
    r"|^\W*\d*\W*$",
    re.IGNORECASE,
)
# Words over several headings that say what they have in common and no more.
_GENERAL = frozenset({
    "door", "doors", "details", "size", "sizes", "job", "customer", "general", "overall", "information", "info", "set",
    "site", "dates", "date", "installation", "fitted", "product", "record", "who", "when", "crew", "facts", "data",
    "dimensions", "nominal",
})  # fmt: skip


@dataclass(frozen=True)
class Placed:
    """A heading (folded) given to a column of a record, and why.

    is_above  a label above the header, as written; is_sheet: the name of the sheet
    """

    heading: str
    record: str
    column: str
    sure: float
    why: str
    is_above: bool = False
    is_sheet: bool = False


@dataclass(frozen=True)
class Assignment:
    """placed: by column; faint: headings that may be meant, the likeliest first."""

    placed: dict[str, Placed]
    faint: tuple[Placed, ...]


def assign(record: Record, layout: Layout, taken: frozenset[str] = frozenset()) -> Assignment:
    """The best giving of headings that are not taken yet: each heading once, each column once, the surest first."""
    pairs = [
        _weighed(record, column, heading, layout)
        for column in record.columns
        for heading in layout.evidence
        if heading not in taken
    ]
    pairs.sort(key=lambda one: -one.sure)
    placed: dict[str, Placed] = {}
    used: set[str] = set()
    for one in pairs:
        if one.sure >= SURE and one.column not in placed and one.heading not in used:
            placed[one.column] = one
            used.add(one.heading)
    faint = tuple(one for one in pairs if FAINT <= one.sure < SURE and one.heading not in used)
    return Assignment(placed, faint)


def with_labels_above(layout: Layout, facts: Assignment) -> Assignment:
    """The assignment of a door's facts, those that no column says taken from labels above the header."""
    placed = dict(facts.placed)
    for label, value in labels_above(layout):
        for column in INSTALLS.columns:
            likeness = column_likeness(INSTALLS.name, column.name, label)
            if column.name not in placed and likeness >= _LABEL_SURE and _bears_out(INSTALLS, column, look_at([value])):
                what = "" if column.is_personal else f": {shown(value)}"
                why = f"reads as {column.name.replace('_', ' ')}; stands above the header{what}"
                placed[column.name] = Placed(label, INSTALLS.name, column.name, likeness, why, is_above=True)
                break
    if "crew" not in placed and _are_crews(layout.sheet_names):
        why = f"no column says the crew, and sheets are named {' and '.join(layout.sheet_names[:2])}"
        placed["crew"] = Placed("", INSTALLS.name, "crew", SURE, why, is_sheet=True)
    return Assignment(placed, facts.faint)


def _are_crews(names: tuple[str, ...]) -> bool:
    """Whether the names of sheets laid out alike may be those of crews: several, none of them a general word."""
    return len(names) > 1 and not any(_NO_CREW.search(name) for name in names)


def labels_above(layout: Layout) -> list[tuple[str, Cell]]:
    """(label, what stands beside it) of the rows above the header."""
    found: list[tuple[str, Cell]] = []
    grid = layout.grid
    for row in range(layout.heads.row):
        for column in range(grid.width):
            text = grid.text(row, column)
            name, _, rest = text.partition(":")
            if rest.strip():
                found.append((name.strip(), rest.strip()))
            elif name and said(grid.text(row, beside := grid.column_after(row, column))) < _LABEL_SURE:
                cells = grid.rows[row]
                found += [(name.strip(), cells[beside])] if beside < len(cells) and shown(cells[beside]) else []
    return found


def _weighed(record: Record, column: Column, heading: str, layout: Layout) -> Placed:
    text = without_number(layout.heads.written[layout.heads.places[heading]])
    likeness = column_likeness(record.name, column.name, text)
    # a heading above several others may say no more than what they have in common
    *upper, lower = text.split(JOINT)
    if upper and set(words_of(" ".join(upper))) <= _GENERAL:
        likeness = max(likeness, 0.9 * column_likeness(record.name, column.name, lower))
    evidence = layout.evidence[heading]
    why = f"reads as {column.name.replace('_', ' ')}; {evidence.told}"
    return Placed(heading, record.name, column.name, likeness * _bears_out(record, column, evidence), why)


def _bears_out(record: Record, column: Column, evidence: Evidence) -> float:
    """How far the contents bear a column out: 0 rules it out."""
    if not evidence.filled:
        return 0.8
    if column.kind == DAY:
        return _day(evidence)
    if column.name == "leaves" and evidence.steps >= LEAF_STEPS and min(evidence.values, default=0) <= 1:
        return 0.0
    if column.kind in (NUMBER, WHOLE):
        return 1.0 if evidence.numbers >= 0.6 and evidence.days < 0.5 else 0.0
    if evidence.days >= 0.6:
        return 0.0
    if column.kind == WORD and evidence.numbers >= 0.6:
        return 0.3
    if column.name == record.key[0] and len(record.key) == 1 and evidence.distinct == 1 < evidence.filled - 1:
        return 0.5
    if column.name == "crew" and evidence.distinct > 60 and evidence.distinct > 0.8 * evidence.filled:
        return 0.5
    return 1.0


def _day(evidence: Evidence) -> float:
    if evidence.days >= 0.6:
        return 1.0
    serials = [value for value in evidence.values if 30_000 <= value <= 60_000]
    return 0.9 if len(serials) >= 0.8 * evidence.filled else 0.0
