"""Forms of one workbook that differ in their labels: a form was redrawn, lacks a line, or was never filled in.

How such workbooks look is common practice, no source.
"""

import re
from collections.abc import Iterable

from pipeline.ingest.declared.mapping import Each, SheetMap, Source, folded
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.forms.form import FormCells
from pipeline.ingest.matching.forms.form_or_list import is_form_sized
from pipeline.ingest.matching.forms.runs import is_later_in_run
from pipeline.ingest.matching.forms.units import UNIT
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.headings import JOINT, MOST_MISSING
from pipeline.ingest.records import INSTALLS

_LATER_LEAF = re.compile(r"leaf_(?!1$)")
NOT_FILLED_IN = "nothing is filled in on this form"


def may_lack(headings: Iterable[str], entries: Iterable[Each]) -> set[str]:
    """The labels (folded) of a form that that of a smaller door lacks: of later leaves, of later readings of a row."""
    found = {folded(one.heading) for one in entries if one.heading and _LATER_LEAF.match(_member(one))}
    return found | {name for name in headings if is_later_in_run(name) or name.endswith(JOINT + UNIT)}


def _member(one: Each) -> str:
    return dict(one.fixed).get("member", "")


def alike(grids: list[Grid], proposal: Proposal) -> list[list[Grid]]:
    """Forms with the same of the labels that a proposal for all of them places; those never filled in left out."""
    entries = [one.each for each in proposal.each.values() for one in each]
    wanted = proposal.placed - may_lack(proposal.placed, entries)
    by_absent: dict[frozenset[str], list[Grid]] = {}
    for grid in grids:
        cells = FormCells(grid)
        if not _names_no_door(cells, proposal):
            absent = frozenset(name for name in wanted if cells.at(name) is None)
            by_absent.setdefault(absent, []).append(grid)
    return list(by_absent.values())


def _names_no_door(cells: FormCells, proposal: Proposal) -> bool:
    """Whether a form asks for what a door must have, and nothing stands there."""
    named = _asked(proposal.columns.get(INSTALLS.name, {}), [])
    there = [name for name in named if cells.at(name) is not None]
    return bool(there) and all(cells.texts(name) == [""] for name in there)


def is_not_filled_in(grid: Grid, sheet_maps: tuple[SheetMap, ...]) -> bool:
    """Whether a sheet is a form that one of the tables reads, with no door, no reading and no tick on it."""
    forms = [one for one in sheet_maps if one.form and not one.begins_with and one.has_sheet(grid.name)]
    asked = [(set(one.headings), _asked(_facts(one), _entries(one))) for one in forms]
    return _is_blank(grid, asked)


def is_empty_like(grid: Grid, proposals: list[Proposal]) -> bool:
    """Whether a sheet is a form as proposals read them, with no door, no reading and no tick on it."""
    entries = ([one.each for each in proposal.each.values() for one in each] for proposal in proposals)
    columns = (proposal.columns.get(INSTALLS.name, {}) for proposal in proposals)
    asked = [(one.placed, _asked(facts, each)) for one, facts, each in zip(proposals, columns, entries, strict=True)]
    return _is_blank(grid, asked)


def _facts(sheet_map: SheetMap) -> dict[str, Source]:
    installs = sheet_map.map_of(INSTALLS.name)
    return dict(installs.columns) if installs else {}


def _entries(sheet_map: SheetMap) -> list[Each]:
    return [one for record in sheet_map.records for one in record.each]


def _asked(facts: dict[str, Source], entries: Iterable[Each]) -> list[str]:
    """The labels (folded) of what a door must have and of what is read of it; none where no doors are made."""
    named = [facts[name].heading for name in INSTALLS.required if name in facts]
    read = [one.heading for one in entries]
    return [folded(name) for name in (*named, *read) if name] if facts else []


def _is_blank(grid: Grid, asked: list[tuple[set[str], list[str]]]) -> bool:
    """Whether a sheet has most labels of a form and nothing beside those that ask for a door and for readings.

    asked  of each way to draw the form, all labels and those
    """
    if not is_form_sized(grid):
        return False
    cells = FormCells(grid)
    for every, those in asked:
        n_gone = sum(cells.at(name) is None for name in every)
        if those and n_gone <= MOST_MISSING * len(every) and all(cells.texts(name) == [""] for name in those):
            return True
    return False
