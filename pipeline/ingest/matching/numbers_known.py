"""What all the files of a firm say together: the numbers of its doors and jobs, its crews, its lists, its codes."""

from dataclasses import dataclass, field, replace
from itertools import chain
from pathlib import Path

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import MAPPED_FORMS, Source, folded
from pipeline.ingest.files.folder import record_of
from pipeline.ingest.files.headers import has_columns, heading_name
from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.columns.assign import assign
from pipeline.ingest.matching.columns.known import NOTHING_KNOWN, Join, Known, Listing
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.two_part_numbers import numbers_together
from pipeline.ingest.matching.groups import groups_of
from pipeline.ingest.matching.matched import Matched
from pipeline.ingest.matching.shared_numbers import doors_by_shared_numbers
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.words.vocabulary import one_meaning
from pipeline.ingest.matching.workbooks.code_sheets import codes_in
from pipeline.ingest.matching.workbooks.crew_files import Crewless, crews_of_files
from pipeline.ingest.matching.workbooks.given import Opened
from pipeline.ingest.matching.workbooks.joined import Laid, joins_of, with_looked_up
from pipeline.ingest.matching.workbooks.listings import listings_of
from pipeline.ingest.matching.workbooks.restarts import restarted
from pipeline.ingest.records import CREWS, INSTALLS, READINGS, TRAINING, Record, record_named
from pipeline.ingest.texts.doors_of_jobs import job_of


@dataclass
class _Seen:
    """What a first look at every sheet gives. Numbers and names are in small letters.

    named      doors that readings name
    is_listed  doors are listed in the form that needs no mapping
    """

    doors: set[str] = field(default_factory=set)
    jobs: set[str] = field(default_factory=set)
    named: set[str] = field(default_factory=set)
    crews: set[str] = field(default_factory=set)
    lists: list[Listing] = field(default_factory=list)
    logs: list[tuple[Proposal, list[Layout]]] = field(default_factory=list)
    codes: list[tuple[str, str]] = field(default_factory=list)
    crewless: dict[Path, Crewless] = field(default_factory=dict)
    is_listed: bool = False
    sheets: list[Laid] = field(default_factory=list)

    def as_they_are(self, grids: list[Grid]) -> None:
        """Sheets that have the columns of installs already."""
        self.is_listed = True
        found = {column.name: _texts_under(grids, column.name) for column in INSTALLS.columns}
        says = frozenset(name for name, texts in found.items() if texts)
        self.lists.append(Listing((), frozenset(found[INSTALLS.key[0]]), says))
        self.doors |= found[INSTALLS.key[0]]
        self.jobs |= found["job_no"]
        self.crews |= found["crew"]

    def as_proposed(self, sheet: Laid, joins: tuple[Join, ...]) -> None:
        """Sheets of one layout as they are placed; those in which doors look something up say nothing themselves."""
        proposal, layouts = sheet.proposal, sheet.layouts
        if any(one.there == sheet.layout.named for one in joins):
            return
        if join := next((one for one in joins if one.doors == sheet.layout.named), None):
            self._as_joined(sheet, join)
        if not proposal.columns:
            return
        self.logs.append((proposal, layouts))
        self.lists += listings_of(proposal, layouts)
        columns = proposal.columns.get(INSTALLS.name, {})
        self.doors |= _texts_of(layouts, columns.get("install_id"))
        self.jobs |= _texts_of(layouts, columns.get("job_no"))
        self.named |= _texts_of(layouts, proposal.columns.get(READINGS.name, {}).get("install_id"))
        for record in (INSTALLS, CREWS, TRAINING):
            self.crews |= _texts_of(layouts, proposal.columns.get(record.name, {}).get("crew"))

    def _as_joined(self, sheet: Laid, join: Join) -> None:
        """Sheets that list doors together with what they look up."""
        facts = with_looked_up(replace(sheet.layout, known=Known(joins=(join,))), assign(INSTALLS, sheet.layout)).placed
        doors = set(sheet.texts(facts[INSTALLS.key[0]].heading))
        by = folded(join.columns[0][1].here)
        self.doors |= doors
        self.jobs |= set(sheet.texts(by)) if facts.get("job_no", facts[INSTALLS.key[0]]).heading == by else set()
        self.lists.append(Listing(sheet.layout.named, frozenset(doors), frozenset(facts)))

    @property
    def listed(self) -> Known:
        """What a list of doors in the form that needs no mapping says, for the sheets looked at after it."""
        return Known(frozenset(self.doors - {""}), frozenset(self.jobs - {""})) if self.is_listed else NOTHING_KNOWN


def numbers_known(files: tuple[Path, ...], opened: Opened, catalogue: Catalogue) -> Known:
    """What a first look at all the files, and at any list of doors beside them, tells of each."""
    seen = _Seen()
    for path, grids in chain(_lists_beside(files, opened), opened.readable(files)):
        seen.codes += [pair for grid in grids for pair in codes_in(grid)]
        if has_columns_of(path, grids):
            if record_of(path.stem) == INSTALLS.name:
                seen.as_they_are(grids)
            continue
        looked = Matched(path.name, path.name)
        groups = groups_of(grids, catalogue, looked, seen.listed)
        found = (*groups, *looked.recordless)
        seen.sheets += [Laid(path, *group, is_all=len(group[1]) == len(grids)) for group in found]
        seen.crewless[path] = looked.crewless
    joins = () if seen.is_listed else joins_of(seen.sheets)
    for sheet in seen.sheets:
        seen.as_proposed(sheet, joins)
    # where no list of doors is understood, the readings may tell which of its columns numbers them, else all sheets
    named = seen.doors or seen.named or doors_by_shared_numbers(opened.readable(files), catalogue)
    # a log may say the job alone: C4114 for the door C4114/1
    jobs_alone = {job_of(text) for text in (*named, *seen.jobs)} - named
    doors, jobs, crews = (frozenset(texts - {""}) for texts in (named, seen.jobs | jobs_alone, seen.crews))
    of_files = tuple(crews_of_files(seen.crewless, crews).items())
    codes = one_meaning([(code, meant) for code, meant in seen.codes if code.casefold() not in doors | jobs])
    return Known(doors, jobs, crews, restarted(seen.logs), tuple(seen.lists), codes, of_files, joins)


def _lists_beside(files: tuple[Path, ...], opened: Opened) -> list[tuple[Path, list[Grid]]]:
    """The files of installs, in the form that needs no mapping, in the folder of the files; with their sheets."""
    given = {path.resolve() for path in files}
    beside = (path for path in sorted(files[0].resolve().parent.iterdir()) if path not in given and path.is_file())
    lists = tuple(
        path for path in beside if path.suffix.lower() in MAPPED_FORMS and record_of(path.stem) == INSTALLS.name
    )
    return [(path, grids) for path, grids in opened.readable(lists) if has_columns_of(path, grids)]


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


def has_columns_of(path: Path, grids: list[Grid]) -> bool:
    """Whether a file bears the name of a record and has its columns: it needs no mapping."""
    record = record_of(path.stem)
    return record is not None and any(_canonical_row(grid, record_named(record)) is not None for grid in grids)


def _canonical_row(grid: Grid, record: Record) -> int | None:
    """The first filled row, from 0, where it holds the record's own columns."""
    first = grid.first_filled
    return first if first is not None and has_columns(record, grid.texts[first]) else None
