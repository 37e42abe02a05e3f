"""Finds a record's columns in the first row of a file or sheet, whatever their case, blanks, hyphens and dots.

A heading may say the unit of its numbers: `value (mm)`, `width cm`, `position [in]`.
"""

import re
from dataclasses import dataclass, field

from pipeline.errors import nearest
from pipeline.ingest.files.blank_lines import GUIDES, is_record_sheet
from pipeline.ingest.judging.cells import BLANKS, WITH_UNIT
from pipeline.ingest.judging.own_units import factor, known_units, own_unit
from pipeline.ingest.records import Column, Record

# Without any unit, these tell theirs by their size; see sizes.
_TELLING = ("width_mm", "height_mm")
CANNOT_OPEN = "it cannot be opened; close it elsewhere, or give yourself the right to read it"
_WITH_WORD = re.compile(r"(.*?)[\s_,.-]*(?:\(([^()]*)\)|\[([^\[\]]*)\]|[\s_,.-](?:in )?([^\s_()\[\]]+))\s*", re.DOTALL)


class Unreadable(Exception):
    """A file or sheet that is refused. The message says why and what to do, without the file's name."""


def why_refused(error: Unreadable | OSError) -> str:
    """Why a file cannot be read, in words, without its name."""
    return str(error) if isinstance(error, Unreadable) else f"it cannot be read: {error.strerror}"


@dataclass(frozen=True)
class Header:
    """places: column name to its place from 0; width: cells of the row; unknown: other columns, as written.

    units  by column, the unit that its heading gives instead of its own; empty where the heading leaves it open
    turned  of a firm's own sheet, keys of the rows whose number has the other sign
    is_record_sheet  it is a record sheet of ours, whose lines may be left empty; its guides for people are not told
    """

    places: dict[str, int]
    width: int
    unknown: tuple[str, ...]
    units: dict[str, str] = field(default_factory=dict)
    is_record_sheet: bool = False
    turned: frozenset[int] = frozenset()


def find_header(record: Record, cells: list[str], where: str = "the first row") -> Header:
    """The record's columns among the cells. where: what they stand in, as a message names it.

    Raises Unreadable where a required column is missing or a column of the record stands twice.
    """
    found = _columns_of(record, cells)
    names = [name for name, _ in found]
    twice = next((column.name for column in record.columns if names.count(column.name) > 1), None)
    if twice:
        raise Unreadable(f"the column '{twice}' stands twice in {where}; keep one")
    units = {name: unit for name, unit in found if name is not None and unit is not None}
    unknown = [
        cell.strip(BLANKS) for cell, name in zip(cells, names, strict=True) if name is None and heading_name(cell)
    ]
    missing = _missing_of(record, names, units)
    if missing:
        raise Unreadable(_missing(missing, unknown, where))
    places = {column.name: names.index(column.name) for column in record.columns if column.name in names}
    is_ours = is_record_sheet(record, tuple(heading_name(cell) for cell in unknown))
    others = tuple(cell for cell in unknown if not (is_ours and heading_name(cell) in GUIDES))
    return Header(places, len(cells), others, units, is_ours)


def has_columns(record: Record, cells: list[str]) -> bool:
    """Whether a first row holds every column that the record must have."""
    found = _columns_of(record, cells)
    units = {name: unit for name, unit in found if name is not None and unit is not None}
    return not _missing_of(record, [name for name, _ in found], units)


def heading_name(cell: str) -> str:
    """A heading as names of columns are written: small letters, underscores for blanks, hyphens and dots."""
    return re.sub(r"[\s_.-]+", "_", cell.strip(BLANKS).casefold()).strip("_")


def _columns_of(record: Record, cells: list[str]) -> list[tuple[str | None, str | None]]:
    """For each cell, the column and the unit of its heading. The name itself goes before a name with a unit."""
    exact = {heading_name(cell) for cell in cells} & {column.name for column in record.columns}
    found = [_column_of(record, cell) for cell in cells]
    return [
        (None, None) if name in exact and heading_name(cell) != name else (name, unit)
        for cell, (name, unit) in zip(cells, found, strict=True)
    ]


def _column_of(record: Record, cell: str) -> tuple[str | None, str | None]:
    """(column of the record, unit that the heading gives it); None for what it does not say."""
    name = heading_name(cell)
    for column in record.columns:
        if name == column.name:
            return name, None
        if column.name in _TELLING and name == column.name.removesuffix("_mm"):
            return column.name, ""
    with_word = _WITH_WORD.fullmatch(cell.strip(BLANKS))
    if not with_word:
        return None, None
    base, word = heading_name(with_word[1]), (with_word[2] or with_word[3] or with_word[4] or "").strip()
    columns = (column for column in record.columns if _takes(column, base, word))
    return next(((column.name, _other_unit(column, word)) for column in columns), (None, None))


def _other_unit(column: Column, word: str) -> str | None:
    """The unit of a heading where it is not the column's own."""
    return None if own_unit(column) and factor(column, word) == 1.0 else word


def _takes(column: Column, base: str, word: str) -> bool:
    """Whether a heading of a base and a unit is the column."""
    if column.name in WITH_UNIT:
        unit = known_units().find(word)
        return base == column.name and unit is not None and unit.dimension != "count"
    own = own_unit(column)
    if own is None or factor(column, word) is None:
        return False
    return base == column.name.removesuffix(f"_{own}") or (base == column.name and factor(column, word) == 1.0)


def _missing_of(record: Record, names: list[str | None], units: dict[str, str]) -> list[str]:
    """Required columns that are not there; a unit in the heading of the value stands for its column."""
    spared = "unit" if "value" in units else None
    return [name for name in record.required if name not in names and name != spared]


def _missing(missing: list[str], found: list[str], where: str) -> str:
    near = nearest(missing[0], found, count=1)
    is_one = len(missing) == 1
    what = f"the column '{missing[0]}' is" if is_one else f"the columns {', '.join(missing)} are"
    if near:
        return f"{what} missing; '{near[0]}' looks like {missing[0]}, rename it" + (
            "" if is_one else " and add the others"
        )
    return f"{what} missing; add {'it' if is_one else 'them'} to {where}"
