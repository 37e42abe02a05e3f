"""Proposes what stands at the foot of forms: the service history of a door card, a row a call under its own headings.

All cards with the same headings there are looked at together, as a card has few calls and many have none. How such
cards look is common practice, no source.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from pipeline.ingest.declared.mapping import Source, folded
from pipeline.ingest.matching.columns.assign import assign
from pipeline.ingest.matching.columns.layout import Layout, layout_at
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.stand_ins import with_stand_ins
from pipeline.ingest.matching.columns.take_columns import take_columns
from pipeline.ingest.matching.forms.foot import form_above
from pipeline.ingest.matching.forms.heads import is_word
from pipeline.ingest.matching.forms.labels import answer_in, label_of
from pipeline.ingest.matching.sheet.grid import Cell, Grid
from pipeline.ingest.matching.words.meaning import column_likeness
from pipeline.ingest.records import CALLBACKS, INSTALLS

# A form has so many rows over what stands at its foot, and that so many columns.
_FORM_ROWS, _FEWEST = 3, 3
_SAID = 0.6
_DAYS, _WHAT = ("reported_on", "visited_on", "logged_on"), ("note", "fault")
_Heads = tuple[str, ...]


@dataclass(frozen=True)
class Foot:
    """The headings (folded) at the feet of forms, with all the rows under them as one table."""

    heads: _Heads
    layout: Layout

    @cached_property
    def n_placed(self) -> int:
        """How many of the headings find a place."""
        return len(propose_foot(self, "").placed)


def feet_of(parts: Iterable[Grid]) -> list[Foot]:
    """What stands at the feet of forms and reads as a log of calls. parts: sheets that may be forms."""
    groups: dict[_Heads, list[tuple[Grid, int]]] = {}
    for part in parts:
        if (found := next(_logs(part), None)) is not None:
            groups.setdefault(_heads(part, found), []).append((part, found))
    feet = [Foot(heads, _together(ones)) for heads, ones in groups.items()]
    return [one for one in feet if _calls(one.layout)]


def row_of_foot(part: Grid, feet: list[Foot]) -> tuple[int, Foot] | None:
    """The row of the headings at the foot of a form, from 0, and whose they are."""
    for row in range(_FORM_ROWS, len(part.rows)):
        for one in feet:
            if len(part.filled(row)) == len(one.heads) and _heads(part, row) == one.heads:
                return row, one
    return None


def without_foot(part: Grid, feet: list[Foot]) -> tuple[Grid, int]:
    """(a form without what stands at its foot, how many headings find a place there)."""
    found = row_of_foot(part, feet)
    return (form_above(part, found[0]), found[1].n_placed) if found else (part, 0)


def propose_foot(foot: Foot, door: str) -> Proposal:
    """The calls at the foot of forms. door: the label of the form that names its door."""
    proposal = Proposal(foot.layout, is_foot=True)
    assigned = with_stand_ins(CALLBACKS, foot.layout, assign(CALLBACKS, foot.layout))
    of_door = {name: one for name, one in assigned.placed.items() if name not in ("install_id", "job_no")}
    take_columns(proposal, CALLBACKS, replace(assigned, placed=of_door))
    columns = proposal.columns[CALLBACKS.name]
    key, said = CALLBACKS.key[0], columns.pop(CALLBACKS.key[0], None)
    number = said if said is not None and _numbers_all(foot.layout, said) else Source(from_row=True)
    proposal.columns[CALLBACKS.name] = {key: number, INSTALLS.key[0]: Source(above=door), **columns}
    proposal.why[door.casefold()] = "the door that the form over it names"
    return proposal


def _logs(part: Grid) -> Iterator[int]:
    """Rows that may head a log at the foot of a form: headings of days and of what was said, all it has below them."""
    for row in range(_FORM_ROWS, len(part.rows)):
        places = part.filled(row)
        texts = [part.text(row, at) for at in places]
        if len(places) < _FEWEST or not all(is_word(text) and not answer_in(text) for text in texts):
            continue
        if _reads_as(texts, _WHAT) and (_reads_as(texts, _DAYS) or any("date" in text.casefold() for text in texts)):
            yield row


def _reads_as(texts: list[str], columns: tuple[str, ...]) -> bool:
    return any(column_likeness(CALLBACKS.name, name, text) >= _SAID for name in columns for text in texts)


def _heads(part: Grid, row: int) -> _Heads:
    return tuple(folded(label_of(part.text(row, at))) for at in part.filled(row))


def _together(ones: list[tuple[Grid, int]]) -> Layout:
    """The rows under the headings of all forms as one table; one that no form has filled has a blank row."""
    first, row = ones[0]
    rows: list[list[Cell]] = [[first.text(row, at) for at in first.filled(row)]]
    for part, top in ones:
        places = part.filled(top)
        below = ([cells[at] if at < len(cells) else "" for at in places] for cells in part.rows[top + 1 :])
        rows += [cells for cells in below if any(cells)]
    rows += [[""] * len(rows[0])] if len(rows) == 1 else []
    return layout_at(Grid(first.name, rows, first.epoch), 0, 1)


def _calls(layout: Layout) -> bool:
    """Whether rows are calls: when, and what was said."""
    placed = with_stand_ins(CALLBACKS, layout, assign(CALLBACKS, layout)).placed
    return "reported_on" in placed and any(name in placed for name in _WHAT)


def _numbers_all(layout: Layout, number: Source) -> bool:
    """Whether the calls of all forms have numbers of their own, which do not begin anew with every card."""
    evidence = layout.evidence[folded(str(number.heading))]
    return not evidence.blank and 1 < evidence.filled == evidence.distinct
