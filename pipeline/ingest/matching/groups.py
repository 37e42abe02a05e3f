"""The sheets of one file by how they are laid out, each layout with the proposal for all its sheets."""

from dataclasses import replace

from pipeline.catalogue import Catalogue
from pipeline.errors import few_of
from pipeline.ingest.matching.arrange import ACROSS, PART, arrangements, left_over
from pipeline.ingest.matching.columns.known import Known
from pipeline.ingest.matching.columns.layout import Layout, why_not_read
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.sources import take_words_of
from pipeline.ingest.matching.matched import Matched
from pipeline.ingest.matching.propose import propose
from pipeline.ingest.matching.propose_form import propose_forms
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.toml_text import TO_COMPLETE, Block, draft_text
from pipeline.ingest.matching.workbooks.code_sheets import codes_in, is_key
from pipeline.ingest.matching.workbooks.crew_sheets import are_crews

_IS_KEY = "it says what codes in headings mean"
# Of what stands beside the tables of a sheet, so many places are named, each with the start of its text.
_MOST_TOLD, _SHOWN = 8, 40
# Of the columns of a sheet that nothing is read of, so many are named.
_MOST_COLUMNS = 12


def groups_of(
    grids: list[Grid], catalogue: Catalogue, result: Matched, known: Known
) -> list[tuple[Proposal, list[Layout]]]:
    """The sheets of one layout together, with the proposal for them all; forms foremost."""
    keys = [grid for grid in grids if known.codes and is_key(grid, frozenset(dict(known.codes)))]
    result.unread += [(grid.name or result.file, _IS_KEY) for grid in keys]
    grids = [grid for grid in grids if grid not in keys]
    groups = propose_forms(grids, catalogue, known)
    in_forms = [layout.grid.name for _, layouts in groups for layout in layouts]
    grids = [grid for grid in grids if grid.name not in in_forms]
    by_layout: dict[tuple[str, tuple[str, ...]], list[Layout]] = {}
    for grid in grids:
        arranged = arrangements(grid, catalogue, known)
        if not arranged and grid.first_filled is not None:
            why = _IS_KEY if known.codes and codes_in(grid) else why_not_read(grid)
            result.unread.append((grid.name or result.file, why))
        if any(how == PART for how, _ in arranged):
            result.notes += _beside_tables(grid, [layout for _, layout in arranged])
        for how, layout in arranged:
            by_layout.setdefault((how, layout.named), []).append(layout)
    for proposal, layouts in _proposals(by_layout, catalogue, result, known):
        if proposal.columns:
            groups.append((proposal, layouts))
        else:
            result.recordless.append((proposal, layouts))
            _tell_unread(result, proposal, layouts)
    return groups


def _proposals(
    by_layout: dict[tuple[str, tuple[str, ...]], list[Layout]], catalogue: Catalogue, result: Matched, known: Known
) -> list[tuple[Proposal, list[Layout]]]:
    """A proposal for the sheets of each layout; those that want nothing but the crew may bear its name."""
    found: list[tuple[Proposal, list[Layout]]] = []
    for layouts in by_layout.values():
        sheet_names = tuple(one.grid.name for one in layouts if one.grid.name)
        fullest = max(layouts, key=lambda one: one.cells.height)
        found.append((propose(replace(fullest, sheet_names=sheet_names, known=known), catalogue), layouts))
    if crew := dict(known.crew_files).get(result.file):
        found = [(_anew(one, replace(one.layout, crew_said=crew), catalogue), layouts) for one, layouts in found]
    crewless = [(one.crewless, layout) for one, layouts in found if one.crewless for layout in layouts]
    if crewless and are_crews(crewless, result.file, known.crews):
        found = [(_anew(one, replace(one.layout, is_of_crew=True), catalogue), layouts) for one, layouts in found]
    for (how, _), (proposal, _) in zip(by_layout, found, strict=True):
        proposal.is_part, proposal.is_across = how == PART, how == ACROSS
    for proposal, layouts in found:
        take_words_of(layouts, proposal)
    return found


def _anew(one: Proposal, layout: Layout, catalogue: Catalogue) -> Proposal:
    """A proposal that wants nothing but the crew, made again of a layout that says it; any other as it is."""
    return propose(layout, catalogue) if one.crewless else one


def _tell_unread(result: Matched, proposal: Proposal, layouts: list[Layout]) -> None:
    """Says why no record can be made of sheets, and keeps what was found as a comment to be completed."""
    result.crewless += [(proposal.crewless, layout) for layout in layouts if proposal.crewless]
    names = ", ".join(one.grid.name or result.file for one in layouts)
    why = "; ".join(proposal.missing) or "no record can be made of its columns"
    why += "" if proposal.draft or proposal.is_looked_into else f": {_named(proposal.layout)}"
    if proposal.draft is not None and proposal.draft.columns:
        proposal.draft.is_part, proposal.draft.is_across = proposal.is_part, proposal.is_across
        sheet = sheet_pattern(layouts, 2)
        result.drafts.append(draft_text(Block(result.pattern, sheet, proposal.draft), proposal.wanting, why))
        why += TO_COMPLETE
    result.unread.append((names, why))


def _named(layout: Layout) -> str:
    """The headings of a sheet, as many as can be told."""
    return few_of([repr(text) for text in layout.heads.written if text], _MOST_COLUMNS)


def _beside_tables(grid: Grid, parts: list[Layout]) -> list[str]:
    """What stands in a sheet of several tables beside those that records are made of."""
    found = [f"{cell} '{text[:_SHOWN]}'" for cell, text in left_over(grid, parts)]
    where = f"{grid.name}: " if grid.name else ""
    return [f"{where}not read, as no record can be made of it: from {few_of(found, _MOST_TOLD)}"] if found else []


def sheet_pattern(layouts: list[Layout], n_groups: int) -> str:
    """The name of the sheet that a table of the mapping reads, of several; else any."""
    names = {one.grid.name for one in layouts}
    (name,) = names if len(names) == 1 else (None,)
    return name if n_groups > 1 and name is not None else "*"
