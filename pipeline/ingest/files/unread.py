"""Columns that nothing is read from, so that what stands in them is in no number; and those left out knowingly.

What a reader found is kept with its load, as long as that counts; which of it is left out is settled anew by each run.
"""

from dataclasses import dataclass, replace
from fnmatch import fnmatch
from typing import TYPE_CHECKING

from pipeline.errors import few_of, nearest
from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.files.headers import Header
from pipeline.ingest.records import Record
from pipeline.settings import SETTINGS_FILE

if TYPE_CHECKING:
    import duckdb

NEW, NO_PLACE, NO_COLUMN, LEFT_OUT = "new", "no place", "no such column", "left out"
WHY = {
    NEW: f"new, the mapping does not know it; name it in its [[sheet]] table of {SETTINGS_FILE}, or add it to ignore",
    NO_PLACE: f"no place was found for it; name it in its [[sheet]] table of {SETTINGS_FILE}, or move it to ignore",
    LEFT_OUT: f"left out in {SETTINGS_FILE}",
}
_MOST_NAMED = 6

Ignored = tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Unread:
    """One heading as written. cells: how many under it are filled, None where nobody counted; state, and why."""

    heading: str
    cells: int | None
    state: str
    reason: str


@dataclass(frozen=True)
class UnreadColumn:
    """The same with the file and the sheet that it stands in."""

    file: str
    sheet: str | None
    column: Unread


def unknown_columns(record: Record, header: Header) -> tuple[Unread, ...]:
    """The columns of a file in our own form that its record does not have, each with the one that may be meant."""
    free = [column.name for column in record.columns if column.name not in header.places]
    found = []
    for name in header.unknown:
        near = nearest(name, free, count=1)
        what = f"did you mean {near[0]}?" if near else f"rename it, or leave it out under [ignore] in {SETTINGS_FILE}"
        found.append(Unread(name, None, NO_COLUMN, f"{record.name} has no such column; {what}"))
    return tuple(found)


def keep_unread(connection: "duckdb.DuckDBPyConnection", load: int, found: tuple[Unread, ...]) -> None:
    """Keeps what was found in one sheet with its load."""
    if found:
        rows = [(load, one.heading, one.cells, one.state, one.reason) for one in found]
        connection.executemany("INSERT INTO unread VALUES (?, ?, ?, ?, ?)", rows)


def settle_unread(connection: "duckdb.DuckDBPyConnection", ignored: Ignored) -> tuple[UnreadColumn, ...]:
    """Fills `unread_headings` anew from the loads in force; returns those that nobody has left out, new ones first.

    ignored  patterns of files, and the headings that are left out of them
    """
    found = connection.execute(
        """
        SELECT file, sheet, heading, sum(cells)::BIGINT, min(state), min(reason)
        FROM unread JOIN loads USING (load) WHERE replaced_in IS NULL
        GROUP BY file, sheet, heading ORDER BY file, min(load), min(unread.rowid)
        """
    ).fetchall()
    columns = [_settled(UnreadColumn(file, sheet, Unread(*told)), ignored) for file, sheet, *told in found]
    connection.execute("DELETE FROM unread_headings")
    if columns:
        rows = [(one.file, one.sheet, *vars(one.column).values()) for one in columns]
        connection.executemany("INSERT INTO unread_headings VALUES (?, ?, ?, ?, ?, ?)", rows)
    left = (one for one in columns if one.column.state != LEFT_OUT)
    return tuple(sorted(left, key=lambda one: one.column.state != NEW))


def _settled(one: UnreadColumn, ignored: Ignored) -> UnreadColumn:
    """The column, left out where the settings say so of its file."""
    of_file = [names for pattern, names in ignored if fnmatch(one.file.casefold(), pattern.casefold())]
    if folded(one.column.heading) not in {folded(name) for names in of_file for name in names}:
        return one
    return replace(one, column=replace(one.column, state=LEFT_OUT, reason=WHY[LEFT_OUT]))


def unread_sentence(columns: tuple[UnreadColumn, ...], folder: str) -> list[str]:
    """One sentence on all of them, new ones first; none where there are none. folder: as it is typed."""
    if not columns:
        return []
    first: dict[str, UnreadColumn] = {}
    for one in columns:
        first.setdefault(one.column.heading.casefold(), one)
    names = [f"'{one.column.heading}'{' (new)' * (one.column.state == NEW)}" for one in first.values()]
    what = "1 column is" if len(names) == 1 else f"{len(names):,} columns are"
    files = sorted({one.file for one in columns})
    of = files[0] if len(files) == 1 else f"{len(files)} files"
    return [
        f"{what} not read, so in no number: {few_of(names, _MOST_NAMED)} of {of}; "
        f"fitback check {folder} tells of each where it stands and how to place it or leave it out."
    ]


def unread_lines(columns: tuple[UnreadColumn, ...]) -> list[str]:
    """All of them: for each file the sheets and what is not read there, with why; none where there are none."""
    if not columns:
        return []
    sheets: dict[tuple[str, str, str], list[str]] = {}
    for one in columns:
        sheets.setdefault((one.file, one.column.heading, one.column.reason), []).append(one.sheet or "")
    headings: dict[tuple[str, tuple[str, ...], str], list[str]] = {}
    for (file, heading, reason), names in sheets.items():
        headings.setdefault((file, tuple(names), reason), []).append(heading)
    return [
        "Columns not read, so in no number:",
        *(
            f"  {file}{_of_sheets(names)}: {', '.join(map(repr, texts))}: {reason}"
            for (file, names, reason), texts in headings.items()
        ),
    ]


def _of_sheets(names: tuple[str, ...]) -> str:
    """The sheets of a file; nothing for a file that has none."""
    shown = [name for name in names if name]
    if not shown:
        return ""
    return f", {'sheet' if len(shown) == 1 else 'sheets'} {few_of(shown, _MOST_NAMED)}"
