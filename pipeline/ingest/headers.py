"""Finds a record's columns in the first row of a file or sheet."""

from dataclasses import dataclass

from pipeline.errors import nearest
from pipeline.ingest.cells import BLANKS
from pipeline.ingest.records import Record


class Unreadable(Exception):
    """A file or sheet that is refused. The message says why and what to do, without the file's name."""


@dataclass(frozen=True)
class Header:
    """places: column name to its place from 0; width: cells of the row; unknown: other columns, as written."""

    places: dict[str, int]
    width: int
    unknown: tuple[str, ...]


def find_header(record: Record, cells: list[str]) -> Header:
    """The record's columns among the cells, by exact name in any case.

    Raises Unreadable where a required column is missing or a column of the record stands twice.
    """
    known = [column.name for column in record.columns]
    names = [cell.strip(BLANKS).casefold() for cell in cells]
    twice = [name for name in known if names.count(name) > 1]
    if twice:
        raise Unreadable(f"the column '{twice[0]}' stands twice in the first row; keep one")
    missing = [name for name in record.required if name not in names]
    unknown = [cell.strip(BLANKS) for cell, name in zip(cells, names, strict=True) if name and name not in known]
    if missing:
        raise Unreadable(_missing(missing, unknown))
    return Header({name: names.index(name) for name in known if name in names}, len(cells), tuple(unknown))


def has_columns(record: Record, cells: list[str]) -> bool:
    """Whether a first row holds every column that the record must have."""
    names = {cell.strip(BLANKS).casefold() for cell in cells}
    return set(record.required) <= names


def ignored_note(record: Record, header: Header) -> str | None:
    """What to say of columns that the record does not have; None where there are none."""
    if not header.unknown:
        return None
    free = [column.name for column in record.columns if column.name not in header.places]
    shown = []
    for name in header.unknown[:8]:
        near = nearest(name, free, count=1)
        shown.append(f"'{name}' (did you mean {near[0]}?)" if near else f"'{name}'")
    more = f" and {len(header.unknown) - 8} more" if len(header.unknown) > 8 else ""
    is_one = len(header.unknown) == 1
    return f"{'column' if is_one else 'columns'} {', '.join(shown)}{more} not read: {record.name} has no such column"


def _missing(missing: list[str], found: list[str]) -> str:
    near = nearest(missing[0], found, count=1)
    is_one = len(missing) == 1
    what = f"the column '{missing[0]}' is" if is_one else f"the columns {', '.join(missing)} are"
    if near:
        return f"{what} missing; '{near[0]}' looks like {missing[0]}, rename it" + (
            "" if is_one else " and add the others"
        )
    return f"{what} missing; add {'it' if is_one else 'them'} to the first row"
