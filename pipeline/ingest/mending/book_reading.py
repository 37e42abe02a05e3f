"""Reads the set-aside workbook as a person saved it: which cells of which lines were changed.

Lines are known by their mark, else by file, sheet, row and heading; sheets by the name of their record; columns by
their headings. Their order does not matter, and what is not there any more changes nothing.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.books import safe_cell, unguarded
from pipeline.ingest.files.headers import heading_name
from pipeline.ingest.files.workbook import cell_text, opened_workbook, text_for
from pipeline.ingest.history.row_keys import row_of
from pipeline.ingest.judging.cells import BLANKS
from pipeline.ingest.mending.book import FILE, HEADING, HELP_SHEET, MARK, REASON, ROW, SHEET, WHO
from pipeline.ingest.mending.ledger import Change, Place, Texts
from pipeline.ingest.mending.overlay import as_number
from pipeline.ingest.records import DAY, RECORDS, Record

if TYPE_CHECKING:
    import duckdb

_OWN = (REASON, FILE, SHEET, ROW, HEADING, WHO, MARK)


@dataclass(frozen=True)
class Shown:
    """A line as the workbook showed it."""

    mark: str
    place: Place
    heading: str | None
    content_hash: str
    cells: Texts
    faults: frozenset[str]


@dataclass
class Found:
    """What a workbook came to. notes: sentences about what could not be taken."""

    changes: list[Change] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class _Written:
    """A line of a sheet as it stands now: its cells by column, and where it is in the workbook."""

    record: Record
    where: str
    cells: dict[str, Any]
    epoch: str


def read_changes(connection: "duckdb.DuckDBPyConnection", path: Path, user: str) -> Found:
    """The cells that were changed since the workbook was written. Raises Unreadable, OSError for what is none.

    user  who corrected what names nobody
    """
    found = Found()
    shown = _Shown(connection)
    lines: dict[Place, tuple[str, list[Change]]] = {}
    for written in _lines(path, found.notes):
        line = shown.of(written)
        if line is None:
            if _says_something(written):
                found.notes.append(
                    f"{written.where}: no such row was set aside; copy the line from the newest workbook."
                )
            continue
        changes = list(_changes(written, line, user, found.notes))
        where, before = lines.setdefault(line.place, (written.where, changes))
        if _cells(before) != _cells(changes):
            if before and changes:
                found.notes.append(f"{written.where}: {where} corrects the same row otherwise; keep one of the two.")
                lines[line.place] = where, []
            elif changes:
                lines[line.place] = written.where, changes
    found.changes = [change for _, changes in lines.values() for change in changes]
    return found


def _cells(changes: list[Change]) -> list[tuple[str, str | None]]:
    return [(change.column, change.after) for change in changes]


def _says_something(written: _Written) -> bool:
    return any(_text(cell) for cell in written.cells.values())


class _Shown:
    """The lines that workbooks showed, by mark, and the last one of each place."""

    def __init__(self, connection: "duckdb.DuckDBPyConnection") -> None:
        self._by_mark: dict[str, Shown] = {}
        self._by_place: dict[tuple[str, str, str, str, str], Shown] = {}
        rows = connection.execute(
            "SELECT line, record, file, sheet, row_key, heading, content_hash, cells, faults FROM shown_lines "
            "ORDER BY rowid"
        ).fetchall()
        for mark, record, file, sheet, key, heading, content_hash, cells, faults in rows:
            place = Place(record, file, sheet, key)
            one = Shown(mark, place, heading, content_hash, json.loads(cells), frozenset(faults.split(",")))
            self._by_mark[mark] = one
            self._by_place[record, file, sheet or "", str(row_of(key)), heading or ""] = one

    def of(self, written: _Written) -> Shown | None:
        """The line that this one was; None where there was no such line."""
        found = self._by_mark.get(_text(written.cells.get(MARK)))
        if found is not None:
            return found if found.place.record == written.record.name else None
        file, sheet, row, heading = (_text(written.cells.get(name)) for name in (FILE, SHEET, ROW, HEADING))
        return self._by_place.get((written.record.name, file, sheet, row, heading))


def _lines(path: Path, notes: list[str]) -> Iterator[_Written]:
    with opened_workbook(path) as (workbook, names, epoch):
        for name in names:
            record = next((one for one in RECORDS if one.name == name.strip().casefold()), None)
            if record is None:
                if name.strip().casefold() != HELP_SHEET:
                    notes.append(f"{path.name}, sheet {name}: not read, it is named after no record.")
                continue
            rows = workbook.get_sheet_by_name(name).to_python(skip_empty_area=False)
            yield from _lines_of(record, f"{path.name}, sheet {name}", rows, epoch, notes)


def _lines_of(record: Record, where: str, rows: list[list[Any]], epoch: str, notes: list[str]) -> Iterator[_Written]:
    headers = ((at, [heading_name(cell_text(cell)) for cell in row]) for at, row in enumerate(rows))
    found = next(((at, header) for at, header in headers if MARK in header or {FILE, ROW} <= set(header)), None)
    if found is None:
        if any(_text(cell) for row in rows for cell in row):
            notes.append(f"{where}: not read, its columns {FILE}, {ROW} and {MARK} are gone.")
        return
    at, header = found
    known = {*_OWN, *(column.name for column in record.kept)}
    strange = [name for name in dict.fromkeys(header) if name and name not in known]
    if strange:
        notes.append(f"{where}: column {', '.join(strange)} not read; mend it in the file.")
    for number, cells in enumerate(rows[at + 1 :], at + 2):
        by_name = {name: cell for name, cell in zip(header, cells, strict=False) if name in known}
        yield _Written(record, f"{where}, row {number}", by_name, epoch)


def _changes(written: _Written, line: Shown, user: str, notes: list[str]) -> Iterator[Change]:
    who = _text(written.cells.get(WHO)) or user
    for column in written.record.kept:
        if column.name not in written.cells:
            continue
        cell, before = written.cells[column.name], line.cells.get(column.name, "")
        after = unguarded(text_for(column.kind, cell, written.epoch).strip(BLANKS))
        if _is_as_shown(cell, after, before, column.name in line.faults):
            continue
        if isinstance(cell, date) and column.kind != DAY:
            notes.append(f"{written.where}, {column.name}: this is a date and must be none; write it as text.")
            continue
        yield Change(
            line.place, line.heading, column.name, before or None, after or None, who, line.mark, line.content_hash
        )


def _is_as_shown(cell: Any, after: str, before: str, is_fault: bool) -> bool:
    """Whether a cell is as it was shown: the same text, or what a spreadsheet makes of it by itself.

    A number where a text was at fault is a person's answer: it leaves nothing in doubt.
    """
    shown = _line_ends(str(safe_cell(before)))
    if _line_ends(str(safe_cell(after))) == shown or _line_ends(cell_text(cell)) == shown:
        return isinstance(cell, str) or not (is_fault and isinstance(cell, float) and "." in after)
    if isinstance(cell, bool):
        return cell_text(cell) == before.upper()
    if isinstance(cell, int | float) and not is_fault:
        return as_number(before) == float(cell)
    return False


def _line_ends(text: str) -> str:
    return text.replace("_x000D_", "").replace("\r\n", "\n").replace("\r", "\n").strip(BLANKS)


def _text(cell: object) -> str:
    return "" if cell is None else unguarded(cell_text(cell).strip(BLANKS))
