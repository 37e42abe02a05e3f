"""The command `fitback match`: proposes how files become records, writes it down, shows what would come of it."""

from dataclasses import replace
from fnmatch import fnmatch
from pathlib import Path

from pipeline.catalogue import Catalogue
from pipeline.ingest.files.folder import record_of
from pipeline.ingest.files.headers import Unreadable
from pipeline.ingest.matching.columns.known import Known
from pipeline.ingest.matching.doors_wanting import doors_wanting
from pipeline.ingest.matching.forms.redrawn import NOT_FILLED_IN, is_not_filled_in
from pipeline.ingest.matching.groups import groups_of, sheet_pattern
from pipeline.ingest.matching.mapped.days_of_file import days_in
from pipeline.ingest.matching.mapped.own_sheets import find_maps, year_of
from pipeline.ingest.matching.matched import Matched, MatchSummary
from pipeline.ingest.matching.next_file import left_by, reads_more
from pipeline.ingest.matching.numbers_known import has_columns_of, numbers_known
from pipeline.ingest.matching.preview import preview
from pipeline.ingest.matching.sheet.found import Found
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.other_sheets import OtherSheets
from pipeline.ingest.matching.toml_text import Block, block_text, put_into
from pipeline.ingest.matching.workbooks.file_patterns import escaped, pattern_of
from pipeline.ingest.matching.workbooks.given import NotMatched, Opened, given_files, none_matched
from pipeline.settings import SETTINGS_FILE, load_settings


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
    opened = Opened()
    numbers = numbers_known(given.files, opened, catalogue)
    for path in given.files:
        try:
            one = _match_after(path, opened.grids_of(path), matched, catalogue, numbers)
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
    wanting = doors_wanting(given.folder) if any(one.text for one in matched) else ""
    return MatchSummary(target, tuple(matched), is_terminal, tuple(refused), wanting)


def _match_after(
    path: Path, grids: list[Grid], before: list[Matched], catalogue: Catalogue, numbers: Known
) -> Matched | None:
    """What is found in a file; None where the mapping of one before reads it, which then says so."""
    is_of_crew = path.name in dict(numbers.crew_files)
    likes = [] if is_of_crew else before
    known = next((one for one in likes if one.text and fnmatch(path.name.casefold(), one.pattern.casefold())), None)
    left = left_by(grids, known.sheet_maps, known.without_record) if known is not None else None
    if known is not None and left is not None and left.is_nothing:
        known.notes.append(f"{path.name} is read by the same mapping")
        return None
    # where the name says the crew, another file of its like is another crew's
    is_taken = is_of_crew or any(one.pattern == pattern_of(path.name) for one in before)
    pattern = escaped(path.name) if is_taken else pattern_of(path.name)
    one = _match(path, grids, pattern, catalogue, numbers)
    if known is not None and left is not None and not reads_more(grids, one.sheet_maps, known.sheet_maps):
        known.notes.append(f"{path.name} is read by the same mapping{left.told}")
        return None
    return one


def _match(path: Path, grids: list[Grid], pattern: str, catalogue: Catalogue, known: Known) -> Matched:
    result = Matched(path.name, pattern)
    record = record_of(path.stem)
    if has_columns_of(path, grids):
        result.notes.append(f"{path.name} has the columns of {record} already; it is read as it is, without a table")
        return result
    if record:
        result.notes.append(f"{path.name} bears the name of a record; its [[sheet]] table goes before that")
    groups = groups_of(grids, catalogue, result, known)
    blocks = [Block(result.pattern, sheet_pattern(layouts, len(groups)), one) for one, layouts in groups]
    result.text = "\n".join([*(block_text(block) for block in blocks), *result.drafts])
    result.proposals = [one for one, _ in groups]
    result.notes += [note for grid in grids for note in grid.notes]
    if blocks:
        _look_ahead(OtherSheets(path, grids), grids, result, catalogue)
    return result


def _look_ahead(others: OtherSheets, grids: list[Grid], result: Matched, catalogue: Catalogue) -> None:
    """Reads the file by the mapping just proposed, as a run will."""
    sheet_maps = result.sheet_maps
    read: list[Found] = []
    for grid in grids:
        try:
            maps = find_maps(grid, sheet_maps)
        except Unreadable as error:
            # a form unlike its like; a run refuses the file for it, in the same words
            result.unread.append((grid.name or result.file, str(error)))
            continue
        if not maps and is_not_filled_in(grid, sheet_maps):
            result.unread.append((grid.name or result.file, NOT_FILLED_IN))
        read += [replace(one, others=others) for one in maps]
    shown: set[tuple[str, ...]] = set()
    days = days_in(read)
    for found in read:
        where = found.grid.name or result.file
        result.notes += [f"{where}: {note}" for note in (*found.notes, *found.cells.notes())]
        if found.sheet_map.headings not in shown:
            shown.add(found.sheet_map.headings)
            year = year_of(found, Path(result.file).stem)
            result.previews += [(where, one) for one in preview(found, catalogue, year, days)]
