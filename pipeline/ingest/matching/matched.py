"""What `fitback match` found in each file, as lines for a person and for a program."""

import shlex
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from shutil import get_terminal_size
from typing import Any

from pipeline.ingest.declared.mapping import SheetMap
from pipeline.ingest.declared.mapping_tables import parse_mapping
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.preview import Preview, lines_of
from pipeline.ingest.matching.toml_text import TO_COMPLETE, is_drafted
from pipeline.ingest.matching.workbooks.crew_files import Crewless
from pipeline.ingest.matching.workbooks.given import NotMatched
from pipeline.settings import SETTINGS_FILE
from pipeline.terminal import from_here

_INDENT = 2  # how far the rows shown stand in
_NAME_IT = f"name one in {SETTINGS_FILE} if it is a reading, day or fact you want"


@dataclass
class Matched:
    """One file and what was found in it. text: what was written; sheets without a mapping with why.

    recordless  the sheets that no record is made of, as they are laid out
    """

    file: str
    pattern: str
    text: str = ""
    proposals: list[Proposal] = field(default_factory=list)
    previews: list[tuple[str, Preview]] = field(default_factory=list)
    unread: list[tuple[str, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    drafts: list[str] = field(default_factory=list)
    crewless: Crewless = field(default_factory=list)
    recordless: list[tuple[Proposal, list[Layout]]] = field(default_factory=list)

    @cached_property
    def sheet_maps(self) -> tuple[SheetMap, ...]:
        """The tables that were written, as a run reads them; the text is complete before anybody asks."""
        return parse_mapping(tomllib.loads(self.text).get("sheet", []))

    @property
    def without_record(self) -> frozenset[str]:
        """The names of sheets that no record is made of."""
        return frozenset(name for names, _ in self.unread for name in names.split(", "))

    @property
    def n_headings(self) -> int:
        """Headings of the sheets that records can be made of."""
        return sum(one.n_headings for one in self.proposals)

    @property
    def n_placed(self) -> int:
        """Of these, those that have found a place."""
        return sum(len(one.placed & set(one.layout.evidence)) for one in self.proposals)


@dataclass(frozen=True)
class MatchSummary:
    """What the command answers.

    not_matched  files that nothing could be proposed for
    wanting      what a run will still want of the folder; empty where it has all it needs
    """

    settings_file: Path
    matched: tuple[Matched, ...]
    is_terminal: bool = False
    not_matched: tuple[NotMatched, ...] = ()
    wanting: str = ""

    @property
    def is_clean(self) -> bool:
        """True where every file could be matched."""
        return not self.not_matched

    @property
    def sentences(self) -> list[str]:
        """The answer as lines to print."""
        width = get_terminal_size().columns if self.is_terminal else None
        lines = [line for one in self.matched for line in _told(one, width)]
        lines += [*self.warnings, *filter(None, [self.wanting])]
        if any(one.text for one in self.matched):
            folder = shlex.quote(str(from_here(self.settings_file.parent)))
            lines.append(
                f"Written to {self.settings_file}; correct it in a text editor where it is wrong, "
                f"then: fitback check {folder}"
            )
        return lines

    @property
    def warnings(self) -> list[str]:
        """A sentence for each file that could not be matched."""
        return [one.sentence for one in self.not_matched]

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        return {
            "written_to": str(self.settings_file),
            "files": [_as_json(one) for one in self.matched],
            "wanting": self.wanting,
            "not_matched": [{"file": one.file, "why": one.sentence} for one in self.not_matched],
        }


def _told(one: Matched, width: int | None) -> list[str]:
    lines = [f"{one.file} (read as {one.pattern}):" if one.pattern != one.file else f"{one.file}:"]
    if one.n_headings:
        lines.append(f"  {one.n_placed} of {one.n_headings} columns placed.")
    for sheet, shown in one.previews:
        first, *rest = lines_of(shown, None if width is None else width - _INDENT)
        lines += [f"  sheet {sheet}, {first}" if sheet != one.file else f"  {first}", *(f"  {line}" for line in rest)]
    for proposal in one.proposals:
        where = _where(proposal) if len(one.proposals) > 1 else ""
        lines += [f"  {where}{remark}" for remark in _remarks(proposal)]
    lines += [f"  sheet {name}: {why}" for name, why in one.unread]
    return [*lines, *(f"  {note}" for note in one.notes)]


def _where(proposal: Proposal) -> str:
    names = proposal.layout.sheet_names or tuple(filter(None, (proposal.layout.grid.name,)))
    more = f" and {len(names) - 1} more" if len(names) > 1 else ""
    return f"sheet {names[0]}{more}: " if names else ""


def _remarks(proposal: Proposal) -> Iterator[str]:
    """What a person should know of one proposal before it is relied on."""
    if proposal.fill_down:
        filled = ", ".join(map(repr, proposal.fill_down))
        yield f"a blank under {filled} is read as the cell above; if it is none, take it out of fill_down"
    for heading, kinds in proposal.leave_out.items():
        yield f"rows whose '{heading}' is {' or '.join(map(repr, kinds))} are left out, as no callbacks"
    yield from (f"not sure of '{heading}': {why}" for heading, why in proposal.doubts)
    if proposal.others:
        yield f"not read: {', '.join(map(repr, proposal.others))}; {_NAME_IT}"
    yield from (f"{one}{TO_COMPLETE if is_drafted(proposal) else ''}" for one in proposal.missing)


def _as_json(one: Matched) -> dict[str, Any]:
    return {
        "file": one.file,
        "pattern": one.pattern,
        "columns": one.n_headings,
        "placed": one.n_placed,
        "mapping": one.text,
        "doubts": [{"column": name, "why": why} for proposal in one.proposals for name, why in proposal.doubts],
        "no_place": [name for proposal in one.proposals for name in proposal.others],
        "sheets_not_read": [{"sheet": name, "why": why} for name, why in one.unread],
        "rows": [
            {"sheet": sheet, "record": p.record, "rows": p.n_rows, "set_aside": p.n_aside} for sheet, p in one.previews
        ],
        "notes": one.notes,
    }
