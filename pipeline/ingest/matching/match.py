"""The command `fitback match`: proposes how files become records, writes it down, shows what would come of it."""

import tomllib
from dataclasses import replace
from fnmatch import fnmatch
from itertools import chain
from pathlib import Path

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import Source, folded
from pipeline.ingest.declared.mapping_tables import parse_mapping
from pipeline.ingest.files.folder import MAPPED_FORMS, record_of
from pipeline.ingest.files.headers import Unreadable, has_columns, heading_name
from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.arrange import ACROSS, PART, arrangements, left_over
from pipeline.ingest.matching.columns.known import NOTHING_KNOWN, Known, Listing
from pipeline.ingest.matching.columns.layout import Layout, why_not_read
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.two_part_numbers import numbers_together
from pipeline.ingest.matching.forms.redrawn import NOT_FILLED_IN, is_not_filled_in
from pipeline.ingest.matching.mapped.own_sheets import find_maps, year_of
from pipeline.ingest.matching.matched import Matched, MatchSummary
from pipeline.ingest.matching.preview import preview
from pipeline.ingest.matching.propose import propose
from pipeline.ingest.matching.propose_form import propose_forms
from pipeline.ingest.matching.shared_numbers import doors_by_shared_numbers
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.grids import read_grids
from pipeline.ingest.matching.toml_text import Block, block_text, draft_text, put_into
from pipeline.ingest.matching.words.vocabulary import one_meaning
from pipeline.ingest.matching.workbooks.code_sheets import codes_in
from pipeline.ingest.matching.workbooks.crew_files import Crewless, crews_of_files
from pipeline.ingest.matching.workbooks.crew_sheets import are_crews
from pipeline.ingest.matching.workbooks.file_patterns import escaped, pattern_of
from pipeline.ingest.matching.workbooks.given import (
    LOOKED_AT,
    NotMatched,
    given_files,
    grids_of,
    none_matched,
    readable,
)
from pipeline.ingest.matching.workbooks.listings import listings_of
from pipeline.ingest.matching.workbooks.restarts import restarted
from pipeline.ingest.records import CREWS, INSTALLS, READINGS, TRAINING, Record, record_named
from pipeline.settings import SETTINGS_FILE, load_settings

# Of what stands beside the tables of a sheet, so many places are named, each with the start of its text.
_MOST_TOLD, _SHOWN = 8, 40


def match_files(files: list[Path], is_terminal: bool) -> MatchSummary:
    """Proposes a mapping for every file and writes it into the fitback.toml beside them.

    A file that cannot be read is told, and hinders none of the others. Raises UserError where no file can be read, or
    they lie in different folders.
    """
    given = given_files(files)
    _, catalogue = load_settings(given.folder)
    target = given.folder / SETTINGS_FILE
    matched: list[Matched] = []
    refused = list(given.others)
    numbers = _numbers_known(given.files, catalogue)
    for path in given.files:
        try:
            one = _match_after(path, matched, catalogue, numbers)
        except Unreadable as error:
            refused.append(NotMatched(path.name, f"cannot be matched: {error}"))
            continue
        if one is None:
            continue
        copy = put_into(target, one.pattern, one.text) if one.text else None
        if copy is not None:
            one.notes.append(f"its tables of before were replaced; {copy.name} keeps them")
        matched.append(one)
    if not matched:
        raise none_matched(tuple(refused))
    return MatchSummary(target, tuple(matched), is_terminal, tuple(refused))


def _match_after(path: Path, before: list[Matched], catalogue: Catalogue, numbers: Known) -> Matched | None:
    """What is found in a file; None where the mapping of one before reads it, which then says so."""
    is_of_crew = path.name in dict(numbers.crew_files)
    likes = [] if is_of_crew else before
    known = next((one for one in likes if one.text and fnmatch(path.name.casefold(), one.pattern.casefold())), None)
    if known is not None and not _differs(path, known):
        known.notes.append(f"{path.name} is read by the same mapping")
        return None
    # where the name says the crew, another file of its like is another crew's
    is_taken = is_of_crew or any(one.pattern == pattern_of(path.name) for one in before)
    return _match(path, escaped(path.name) if is_taken else pattern_of(path.name), catalogue, numbers)


def _numbers_known(files: tuple[Path, ...], catalogue: Catalogue) -> Known:
    """The numbers of doors and jobs in all the files, as a first look places them, and of any list of doors beside."""
    doors: set[str] = set()
    jobs: set[str] = set()
    named: set[str] = set()
    crews: set[str] = set()
    logs: list[tuple[Proposal, list[Layout]]] = []
    lists: list[Listing] = []
    explained: list[tuple[str, str]] = []
    is_listed = False
    crewless: dict[Path, Crewless] = {}
    for path, grids in chain(_lists_beside(files), readable(files)):
        explained += [pair for grid in grids for pair in codes_in(grid)]
        if _has_columns_of(path, grids):
            if record_of(path.stem) == INSTALLS.name:
                is_listed = True
                lists.append(_as_they_are(grids))
                doors |= _texts_under(grids, INSTALLS.key[0])
                jobs |= _texts_under(grids, "job_no")
                crews |= _texts_under(grids, "crew")
            continue
        looked = Matched(path.name, path.name)
        listed = Known(frozenset(doors - {""}), frozenset(jobs - {""})) if is_listed else NOTHING_KNOWN
        for proposal, layouts in _groups(grids, catalogue, looked, listed):
            logs.append((proposal, layouts))
            lists += listings_of(proposal, layouts)
            columns = proposal.columns.get(INSTALLS.name, {})
            doors |= _texts_of(layouts, columns.get("install_id"))
            jobs |= _texts_of(layouts, columns.get("job_no"))
            named |= _texts_of(layouts, proposal.columns.get(READINGS.name, {}).get("install_id"))
            for record in (INSTALLS, CREWS, TRAINING):
                crews |= _texts_of(layouts, proposal.columns.get(record.name, {}).get("crew"))
        crewless[path] = looked.crewless
    # where no list of doors is understood, the readings may tell which of its columns numbers them, else all sheets
    doors = doors or named or doors_by_shared_numbers(files, catalogue)
    doors, jobs, crews = (texts - {""} for texts in (doors, jobs, crews))
    codes = one_meaning(explained)
    of_files = tuple(crews_of_files(crewless, frozenset(crews)).items())
    return Known(frozenset(doors), frozenset(jobs), frozenset(crews), restarted(logs), tuple(lists), codes, of_files)


def _as_they_are(grids: list[Grid]) -> Listing:
    """The list of doors that sheets hold which have the columns of installs already."""
    found = {name: _texts_under(grids, name) for name in (column.name for column in INSTALLS.columns)}
    return Listing((), frozenset(found[INSTALLS.key[0]]), frozenset(name for name, texts in found.items() if texts))


def _lists_beside(files: tuple[Path, ...]) -> list[tuple[Path, list[Grid]]]:
    """The files of installs, in the form that needs no mapping, in the folder of the files; with their sheets."""
    given = {path.resolve() for path in files}
    beside = (path for path in sorted(files[0].resolve().parent.iterdir()) if path not in given and path.is_file())
    lists = tuple(
        path for path in beside if path.suffix.lower() in MAPPED_FORMS and record_of(path.stem) == INSTALLS.name
    )
    return [(path, grids) for path, grids in readable(lists) if _has_columns_of(path, grids)]


def _texts_under(grids: list[Grid], heading: str) -> set[str]:
    """The different cells of a column of the sheets that hold the installs as they are, in small letters."""
    return {
        typed_number(grid.text(row, place)).casefold()
        for grid in grids
        if (first := _canonical_row(grid, INSTALLS)) is not None
        for place, text in enumerate(grid.texts[first])
        if heading_name(text) == heading
        for row in range(first + 1, len(grid.rows))
        if grid.text(row, place)
    }


def _texts_of(layouts: list[Layout], source: Source | None) -> set[str]:
    """The different cells of a column of all sheets that are laid out alike, in small letters."""
    # forms share the cells of all of them
    different = {id(layout.cells): layout for layout in layouts}.values()
    return {text.casefold() for layout in different for text in _texts_in(layout, source)}


def _texts_in(layout: Layout, source: Source | None) -> list[str]:
    """The cells of a column of a sheet."""
    if source is not None and source.from_lines:
        return layout.cells.over(source.after or None, INSTALLS.column("install_id"))
    if source is None or source.heading is None or folded(source.heading) not in layout.evidence:
        return []
    if source.joined:
        return numbers_together(layout, folded(source.heading), folded(source.joined[0]))
    return list(map(typed_number, layout.cells.texts(folded(source.heading))))


def _match(path: Path, pattern: str, catalogue: Catalogue, known: Known) -> Matched:
    grids = grids_of(path)
    result = Matched(path.name, pattern)
    record = record_of(path.stem)
    if _has_columns_of(path, grids):
        result.notes.append(f"{path.name} has the columns of {record} already; it is read as it is, without a table")
        return result
    if record:
        result.notes.append(f"{path.name} bears the name of a record; its [[sheet]] table goes before that")
    groups = _groups(grids, catalogue, result, known)
    blocks = [Block(result.pattern, _sheet_pattern(layouts, len(groups)), one) for one, layouts in groups]
    result.text = "\n".join([*(block_text(block) for block in blocks), *result.drafts])
    result.proposals = [one for one, _ in groups]
    result.notes += [note for grid in grids for note in grid.notes]
    if blocks:
        _look_ahead(grids, result, catalogue)
    return result


def _has_columns_of(path: Path, grids: list[Grid]) -> bool:
    """Whether a file bears the name of a record and has its columns: it needs no mapping."""
    record = record_of(path.stem)
    return record is not None and any(_canonical_row(grid, record_named(record)) is not None for grid in grids)


def _canonical_row(grid: Grid, record: Record) -> int | None:
    """The first filled row, from 0, where it holds the record's own columns."""
    first = next((row for row in range(len(grid.rows)) if not grid.is_blank(row)), None)
    return first if first is not None and has_columns(record, grid.texts[first]) else None


def _groups(
    grids: list[Grid], catalogue: Catalogue, result: Matched, known: Known
) -> list[tuple[Proposal, list[Layout]]]:
    """The sheets of one layout together, with the proposal for them all; forms foremost."""
    groups = propose_forms(grids, catalogue, known)
    in_forms = [layout.grid.name for _, layouts in groups for layout in layouts]
    grids = [grid for grid in grids if grid.name not in in_forms]
    by_layout: dict[tuple[str, tuple[str, ...]], list[Layout]] = {}
    for grid in grids:
        arranged = arrangements(grid, catalogue, known)
        if not arranged and any(not grid.is_blank(row) for row in range(len(grid.rows))):
            why = "it says what codes in headings mean" if known.codes and codes_in(grid) else why_not_read(grid)
            result.unread.append((grid.name or result.file, why))
        if any(how == PART for how, _ in arranged):
            result.notes += _beside_tables(grid, [layout for _, layout in arranged])
        for how, layout in arranged:
            by_layout.setdefault((how, layout.named), []).append(layout)
    for proposal, layouts in _proposals(by_layout, catalogue, result, known):
        if proposal.columns:
            groups.append((proposal, layouts))
        else:
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
        found = [
            (propose(replace(one.layout, crew_said=crew), catalogue) if one.crewless else one, layouts)
            for one, layouts in found
        ]
    crewless = [(one.crewless, layout) for one, layouts in found if one.crewless for layout in layouts]
    if crewless and are_crews(crewless, result.file, known.crews):
        found = [
            (propose(replace(one.layout, is_of_crew=True), catalogue) if one.crewless else one, layouts)
            for one, layouts in found
        ]
    for (how, _), (proposal, _) in zip(by_layout, found, strict=True):
        proposal.is_part, proposal.is_across = how == PART, how == ACROSS
    return found


def _tell_unread(result: Matched, proposal: Proposal, layouts: list[Layout]) -> None:
    """Says why no record can be made of sheets, and keeps what was found as a comment to be completed."""
    result.crewless += [(proposal.crewless, layout) for layout in layouts if proposal.crewless]
    names = ", ".join(one.grid.name or result.file for one in layouts)
    why = "; ".join(proposal.missing) or "no record can be made of its columns"
    if proposal.draft is not None and proposal.draft.columns:
        proposal.draft.is_part, proposal.draft.is_across = proposal.is_part, proposal.is_across
        sheet = _sheet_pattern(layouts, 2)
        result.drafts.append(draft_text(Block(result.pattern, sheet, proposal.draft), proposal.wanting, why))
        why += f"; what was found of it stands as a comment in {SETTINGS_FILE}: complete it there and take the # away"
    result.unread.append((names, why))


def _beside_tables(grid: Grid, parts: list[Layout]) -> list[str]:
    """What stands in a sheet of several tables beside those that records are made of."""
    found = [f"{cell} '{text[:_SHOWN]}'" for cell, text in left_over(grid, parts)]
    more = f" and {len(found) - _MOST_TOLD} more" if len(found) > _MOST_TOLD else ""
    where = f"{grid.name}: " if grid.name else ""
    return (
        [f"{where}not read, as no record can be made of it: from {', '.join(found[:_MOST_TOLD])}{more}"]
        if found
        else []
    )


def _sheet_pattern(layouts: list[Layout], n_groups: int) -> str:
    names = {one.grid.name for one in layouts}
    (name,) = names if len(names) == 1 else (None,)
    return name if n_groups > 1 and name is not None else "*"


def _look_ahead(grids: list[Grid], result: Matched, catalogue: Catalogue) -> None:
    """Reads the file by the mapping just proposed, as a run will."""
    sheet_maps = parse_mapping(tomllib.loads(result.text)["sheet"])
    shown: set[tuple[str, ...]] = set()
    for grid in grids:
        try:
            maps = find_maps(grid, sheet_maps)
        except Unreadable as error:
            # a form unlike its like; a run refuses the file for it, in the same words
            result.unread.append((grid.name or result.file, str(error)))
            continue
        if not maps and is_not_filled_in(grid, sheet_maps):
            result.unread.append((grid.name or result.file, NOT_FILLED_IN))
        for found in maps:
            result.notes += [f"{grid.name or result.file}: {note}" for note in (*found.notes, *found.cells.notes())]
            if found.sheet_map.headings not in shown:
                shown.add(found.sheet_map.headings)
                year = year_of(found, Path(result.file).stem)
                result.previews += [(grid.name or result.file, one) for one in preview(found, catalogue, year)]


def _differs(path: Path, known: Matched) -> bool:
    """Whether a file of the same pattern is not read by the mapping of the first."""
    sheet_maps = parse_mapping(tomllib.loads(known.text).get("sheet", []))
    try:
        return not any(find_maps(grid, sheet_maps) for grid in read_grids(path, LOOKED_AT))
    except (Unreadable, OSError):
        return True
