"""What doors came back for, in the rows of a list of doors: one call a row, or a group of columns for each of several.

1st call back over Date they rang | Problem, 2nd call back over the same again; or Callback 1 date, Callback 1 problem.
How such lists look is common practice, no source.
"""

import re
from dataclasses import dataclass, replace

from pipeline.ingest.declared.mapping import Source, folded
from pipeline.ingest.matching.columns.assign import assign
from pipeline.ingest.matching.columns.durations import HOURS, unit_of_duration
from pipeline.ingest.matching.columns.layout import Layout, layout_at
from pipeline.ingest.matching.columns.own_words import own_words
from pipeline.ingest.matching.columns.placed import Placed
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.stand_ins import with_stand_ins
from pipeline.ingest.matching.sheet.grid import Cell, Grid
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.matching.words.vocabulary import words_of
from pipeline.ingest.records import CALLBACKS, INSTALLS

# A heading beside the facts of doors must say so plainly that it is the day of a callback.
_SAID = 0.9
_NAMES = ("reported_on", "visited_on", "fault", "note", "responsibility", "hours", "cost")
_ORDINALS = ("first", "second", "third", "fourth", "fifth")
_NUMBER = re.compile(rf"(?:\b(\d)(?:st|nd|rd|th)?\b|\b({'|'.join(_ORDINALS)})\b)", re.IGNORECASE)
_SERVICE = re.compile(r"\bservices?\b", re.IGNORECASE)
_CALL = re.compile(r"\b(?:call[\s-]*(?:back|out)s?|calls?|cbs?|recalls?|remedials?)\b")
# Words for somebody who came back, in one spelling each, and words that go with them over a group of columns.
_CALLS = frozenset({"callback", "recall", "remedial", "complaint"})
_BESIDE = frozenset({"details", "record", "number", "info", "any", "if", "visited", "problem"})


@dataclass(frozen=True)
class _Group:
    """The columns of one call: what each says (folded) without the call it is of, and its heading (folded)."""

    number: int
    headings: dict[str, str]


def add_callbacks(proposal: Proposal) -> None:
    """What each door came back for, where the doors' own rows say when and what."""
    if INSTALLS.name not in proposal.columns or proposal.is_form:
        return
    if len(groups := _groups(proposal)) > 1 and _add_groups(proposal, groups):
        return
    found = _of_one_call(proposal)
    when, what = found.get("reported_on"), found.get("note") or found.get("fault")
    if when is None or what is None or when.sure < _SAID or what.sure < SURE:
        return
    layout = proposal.layout
    columns = {
        name: Source(
            heading=layout.written(one.heading), words=own_words(name, layout.evidence[one.heading])
        )  # a blank is no callback, never that of the door above
        for name, one in found.items()
        if name in _NAMES
    }
    proposal.columns[CALLBACKS.name] = {**_of_all(proposal), **columns}


def _of_one_call(proposal: Proposal) -> dict[str, Placed]:
    """What headings without a place say of a call; where some stand together under one title, these alone."""
    layout, taken = proposal.layout, frozenset(proposal.placed)
    found = assign(CALLBACKS, layout, taken).placed
    title = layout.said(found["reported_on"].heading).rpartition(JOINT)[0] if "reported_on" in found else ""
    if not title or not set(words_of(title)) & _CALLS:
        return found
    # under their title they need not say again that they are of a call
    titled = [one for one in layout.evidence if one not in taken and layout.said(one).rpartition(JOINT)[0] == title]
    group = _Group(1, {folded(layout.lowest(one)): one for one in titled})
    alone = assign(CALLBACKS, _below_one_another(layout, [group])).placed
    return {name: replace(one, heading=group.headings[one.heading]) for name, one in alone.items()}


def _of_all(proposal: Proposal) -> dict[str, Source]:
    """What a row of a door says of every call in it."""
    return {CALLBACKS.key[0]: Source(from_row=True), "install_id": proposal.columns[INSTALLS.name]["install_id"]}


def _groups(proposal: Proposal) -> list[_Group]:
    """The groups of columns that are each headed as one of several calls, in their order."""
    found: dict[int, dict[str, str]] = {}
    for heading in proposal.layout.evidence:
        one = None if heading in proposal.placed else _of_a_call(proposal.layout.said(heading))
        if one is not None:
            found.setdefault(one[0], {}).setdefault(one[1], heading)
    return [_Group(number, headings) for number, headings in sorted(found.items())]


def _of_a_call(said: str) -> tuple[int, str] | None:
    """(which call a heading is of, what it says of it, folded); None where it is of no numbered call."""
    upper, _, lower = said.rpartition(JOINT)
    title = upper or lower
    numbers = _NUMBER.findall(title)
    # a service that is due every year is no call
    words = set(words_of(_SERVICE.sub(" ", _NUMBER.sub(" ", title))))
    is_titled = bool(words & _CALLS) and (not upper or words <= _CALLS | _BESIDE)
    if len(numbers) != 1 or not is_titled:
        return None
    digit, word = numbers[0]
    number = int(digit) if digit else _ORDINALS.index(word.casefold()) + 1
    alone = folded(_NUMBER.sub(" ", title))
    return number, folded(lower) if upper else folded(_CALL.sub(" ", alone).strip(" :-,.")) or alone


def _add_groups(proposal: Proposal, groups: list[_Group]) -> bool:
    """Adds a callback for every group, where what they say together is when somebody called and why."""
    layout = _below_one_another(proposal.layout, groups)
    found = with_stand_ins(CALLBACKS, layout, assign(CALLBACKS, layout)).placed
    placed = {name: found[name] for name in _NAMES if name in found and found[name].is_column}
    when, what = placed.get("reported_on"), placed.get("note") or placed.get("fault")
    if when is None or what is None or what.sure < SURE:
        return False
    sources = {name: source for name, one in placed.items() if (source := _source(layout, name, one)) is not None}
    whole = [one for one in groups if {when.heading, what.heading} <= one.headings.keys()]
    proposal.calls = [
        {
            name: replace(source, heading=proposal.layout.written(heading))
            for name, source in sources.items()
            if (heading := one.headings.get(placed[name].heading))
        }
        for one in whole
    ]
    if whole:
        proposal.columns[CALLBACKS.name] = _of_all(proposal)
        proposal.doubts = [one for one in proposal.doubts if folded(one[0]) not in proposal.placed]
    return bool(whole)


def _source(layout: Layout, name: str, one: Placed) -> Source | None:
    """A column of calls with the firm's own words; None for a duration that may be in hours or minutes."""
    evidence = layout.evidence[one.heading]
    unit, doubt = unit_of_duration(layout.written(one.heading), evidence) if name == HOURS else (None, "")
    return None if doubt else Source(heading=one.heading, words=own_words(name, evidence), unit=unit)


def _below_one_another(layout: Layout, groups: list[_Group]) -> Layout:
    """The calls of all groups as the rows of one list: what is seldom said is known better by all that is said."""
    names = list(dict.fromkeys(name for one in groups for name in one.headings))
    rows: list[list[Cell]] = [list(names)]
    for group in groups:
        places = [layout.heads.places[group.headings[name]] if name in group.headings else None for name in names]
        for row in layout.cells.rows():
            cells = layout.grid.rows[row - 1 - layout.grid.top]
            made = [cells[at] if at is not None and at < len(cells) else "" for at in places]
            rows += [made] if any(cell not in ("", None) for cell in made) else []
    return layout_at(Grid(layout.grid.name, rows, layout.grid.epoch), 0, 1)
