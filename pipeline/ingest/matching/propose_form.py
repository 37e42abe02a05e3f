"""Proposes the reading of forms: all of a workbook as one table with a row for each, and that as any other table."""

from dataclasses import replace

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import Source, folded
from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.columns.evidence import is_tick
from pipeline.ingest.matching.columns.initials import titles_in
from pipeline.ingest.matching.columns.known import NOTHING_KNOWN, Known
from pipeline.ingest.matching.columns.layout import Layout, find_layout, layout_at, said
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.forms.form import FormCells, paths_of
from pipeline.ingest.matching.forms.form_or_list import is_form_sized, is_list
from pipeline.ingest.matching.forms.labels import label_of
from pipeline.ingest.matching.forms.redrawn import alike, is_empty_like
from pipeline.ingest.matching.forms.runs import runs_of
from pipeline.ingest.matching.forms.stacked import label_of_each, parts_of
from pipeline.ingest.matching.forms.unread_lines import lines_not_read
from pipeline.ingest.matching.propose import propose
from pipeline.ingest.matching.propose_foot import Foot, feet_of, propose_foot, row_of_foot, without_foot
from pipeline.ingest.matching.readings.outcome_columns import outcome_said
from pipeline.ingest.matching.sheet.grid import Cell, Grid, shown
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.words.heading_units import unit_named
from pipeline.ingest.matching.words.meaning import column_likeness
from pipeline.ingest.matching.words.vocabulary import meant_by, trade_words
from pipeline.ingest.records import INSTALLS

_Form = tuple[Grid, dict[str, Cell]]
# A form must place so many labels more than the same sheet read as a table does.
_FORM_LEAD = 2
_IS_HEADING = 0.9
# So often the forms of one workbook are parted anew by the labels that they have.
_MOST_REDRAWN = 3


def propose_forms(
    grids: list[Grid], catalogue: Catalogue, known: Known = NOTHING_KNOWN
) -> list[tuple[Proposal, list[Layout]]]:
    """A proposal for all forms of a sheet each, and one for those below one another; a layout for each sheet.

    Where other sheets have forms below one another, a sheet with one of their like is of these.
    """
    by_label: dict[str, list[tuple[Grid, list[_Form]]]] = {}
    labels = [label_of_each(grid) for grid in grids]
    feet = feet_of(part for grid, label in zip(grids, labels, strict=True) for part in _parts(grid, label))
    for grid, label in zip(grids, labels, strict=True):
        if label and (forms := _in_one_sheet(grid, label, catalogue, feet)):
            by_label.setdefault(label, []).append((grid, forms))
    stacked = [grid.name for sheets in by_label.values() for grid, _ in sheets]
    for grid in (one for one in grids if one.name not in stacked and is_form_sized(one)):
        form, n_at_foot = without_foot(grid, feet)
        paths = {} if is_list(form) else paths_of(form)
        if paths and _is_more([(form, paths)], _table(grid, catalogue), catalogue, n_at_foot):
            label = next((one for one in by_label if one and parts_of(grid, one)), "")
            by_label.setdefault(label, []).append((grid, [(form, paths)]))
    others = Known(lists=known.lists, codes=known.codes)
    found = [one for label, sheets in by_label.items() for one in _proposals(sheets, (label, others), catalogue)]
    made = _with_empty(found, grids)
    return [*made, *(one for form, sheets in made for one in _feet_under(form, sheets, feet))]


def _with_empty(found: list[tuple[Proposal, list[Layout]]], grids: list[Grid]) -> list[tuple[Proposal, list[Layout]]]:
    """Proposals for forms; the first with the sheets as well that are such forms, and nothing is filled in on them."""
    each = [one for one in found if not one[0].begins_with]
    if each:
        read = {layout.grid.name for _, layouts in found for layout in layouts}
        proposals, layouts = [proposal for proposal, _ in each], each[0][1]
        empty = [grid for grid in grids if grid.name not in read and is_empty_like(grid, proposals)]
        layouts += [replace(layouts[0], grid=grid) for grid in empty]
    return found


def _parts(grid: Grid, label: str) -> list[Grid]:
    """The forms of a sheet below one another, else the sheet where it may be one."""
    return parts_of(grid, label) if label else [grid] if is_form_sized(grid) else []


def _feet_under(form: Proposal, sheets: list[Layout], feet: list[Foot]) -> list[tuple[Proposal, list[Layout]]]:
    """The proposals for what stands at the feet of forms, with a layout for each sheet."""
    if not feet:
        return []
    door = next(columns["install_id"] for columns in form.columns.values() if "install_id" in columns)
    if door.heading is None or door.joined:
        return []
    found = []
    for foot in feet:
        has_foot = [
            one.grid for one in sheets if any(row_of_foot(part, [foot]) for part in _parts(one.grid, form.begins_with))
        ]
        if has_foot:
            layouts = [replace(foot.layout, grid=grid) for grid in has_foot]
            found.append((propose_foot(foot, door.heading), layouts))
    return found


def _in_one_sheet(grid: Grid, label: str, catalogue: Catalogue, feet: list[Foot]) -> list[_Form]:
    """The forms of one sheet with their paths; none where more is found of it as a table, or lines say the doors."""
    parts = [without_foot(part, feet) for part in parts_of(grid, label)]
    forms = [(part, paths_of(part)) for part, _ in parts]
    table = _table(grid, catalogue)
    n_at_foot = max(n_placed for _, n_placed in parts)
    return forms if _is_more(forms, table, catalogue, n_at_foot) and not _is_of_lines(table) else []


def _table(grid: Grid, catalogue: Catalogue) -> Proposal | None:
    """The proposal for a sheet as a table; None where no row reads as headings."""
    layout = find_layout(grid)
    return propose(layout, catalogue) if layout else None


def _is_more(forms: list[_Form], table: Proposal | None, catalogue: Catalogue, n_at_foot: int) -> bool:
    """Whether enough more is placed of forms, and at their feet, than of the same sheet as a table.

    A table of doors is none that says no door as forms: rows of numbers beside door numbers are many paths.
    """
    proposal = propose(_as_table(forms), catalogue)
    if table is not None and INSTALLS.name in table.columns and INSTALLS.name not in proposal.columns:
        return False
    return _n_placed(proposal) + n_at_foot >= _n_placed(table) + _FORM_LEAD


def _is_of_lines(table: Proposal | None) -> bool:
    """Whether lines between the rows of a table say the doors."""
    doors = [columns.get("install_id", Source()) for columns in table.columns.values()] if table else []
    return any(one.from_lines for one in doors) and _n_placed(table) > 0


def _proposals(
    sheets: list[tuple[Grid, list[_Form]]],
    given: tuple[str, Known],
    catalogue: Catalogue,
    n_left: int = _MOST_REDRAWN,
) -> list[tuple[Proposal, list[Layout]]]:
    """The proposals for the forms of some sheets: of those of a sheet each, one for every way they were drawn.

    A form that was never filled in is left out. given: the label that begins each form, and the lists of doors known.
    """
    whole = _proposal(sheets, given, catalogue)
    if whole is None or given[0] or not n_left:
        return [whole] if whole else []
    groups = alike([forms[0][0] for _, forms in sheets], whole[0])
    if not groups and n_left < _MOST_REDRAWN:
        return []
    if not groups or [len(one) for one in groups] == [len(sheets)]:
        return [whole]
    by_name = {grid.name: (grid, forms) for grid, forms in sheets}
    parts = [[by_name[grid.name] for grid in group] for group in groups]
    return [one for part in parts for one in _proposals(part, given, catalogue, n_left - 1)]


def _proposal(
    sheets: list[tuple[Grid, list[_Form]]], given: tuple[str, Known], catalogue: Catalogue
) -> tuple[Proposal, list[Layout]] | None:
    """The proposal for the forms of some sheets, and a layout for each; None where no record can be made of them."""
    label, known = given
    layout = replace(_as_table([form for _, forms in sheets for form in forms]), known=known)
    proposal = propose(layout, catalogue)
    if "installs" not in proposal.columns and not proposal.each:
        return None
    proposal.is_form, proposal.begins_with = True, label
    proposal.fill_down, proposal.doubts, proposal.unsure = [], [], []
    proposal.form_others = _unplaced(proposal)
    named = set(map(folded, proposal.form_others))
    cells = [FormCells(form) for _, found in sheets for form, _ in found]
    lines = [name for one in cells for name in lines_not_read(one, proposal.placed, named)]
    proposal.form_others += dict.fromkeys(lines)
    return proposal, [replace(layout, grid=grid) for grid, _ in sheets]


def _n_placed(proposal: Proposal | None) -> int:
    """Headings and labels that have found a place."""
    if proposal is None or not proposal.columns:
        return 0
    sources = [source for columns in proposal.columns.values() for source in columns.values()]
    return len(proposal.placed & set(proposal.layout.evidence)) + len({one.above for one in sources if one.above})


def _unplaced(proposal: Proposal) -> list[str]:
    """Paths that lead to a value of their own and have no place: no label of one that has, and no value of one."""
    layout = proposal.layout
    written = [text for text in layout.heads.written if text]
    placed = [text for text in written if folded(text) in proposal.placed]
    labels = {folded(part) for text in placed for part in text.split(JOINT)}
    # a number here is a number there only by chance
    values = {folded(text) for path in placed for text in layout.cells.texts(folded(path)) if _has_letters(text)}
    used = labels | values
    others = []
    for path in written:
        own = {folded(label_of(text)) for text in layout.cells.texts(folded(path)) if _has_letters(text)}
        if path not in placed and not own & used and not {folded(part) for part in path.split(JOINT)} & values:
            others.append(path)
    return others


def _has_letters(text: str) -> bool:
    return any(map(str.isalpha, typed_number(text)))


def _is_value(cell: Cell, path: str) -> bool:
    """Whether a cell holds something that is no heading itself; a closed word is a value of what asks for it."""
    text = shown(cell)
    asked = (one.name for one in INSTALLS.columns if column_likeness(INSTALLS.name, one.name, path) >= _IS_HEADING)
    if any(meant_by(text, trade_words(name)) for name in asked):
        return True
    if is_tick(text) or unit_named(text) is not None:
        return True
    return bool(text) and said(label_of(text)) < _IS_HEADING


def _as_table(forms: list[_Form]) -> Layout:
    """The forms as a table: every path a heading, every form a row; paths that no form fills fall away."""
    paths = dict.fromkeys(path for _, found in forms for path in found)
    filled = {path for path in paths if any(_is_value(found.get(path, ""), path) for _, found in forms)}
    # a box for an outcome that no door of these has had is one all the same
    checked = {said[1] for path in filled if (said := outcome_said(path))}
    filled |= {path for path in paths if (said := outcome_said(path)) and said[1] in checked}
    kept = [path for path in paths if path in filled]
    rows: list[list[Cell]] = [list(kept)]
    rows += [[found.get(path, "") for path in kept] for _, found in forms]
    layout = layout_at(Grid(forms[0][0].name, rows, forms[0][0].epoch), 0, 1)
    runs = {name: one.at for grid, _ in forms for name, one in runs_of(grid).items() if one.at}
    positions = {name: at for name, at in runs.items() if name in layout.evidence}
    return replace(layout, positions=positions, titles_beside=titles_in(forms[0][0]))
