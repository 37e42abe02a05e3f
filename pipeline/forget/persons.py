"""Finds the person to be forgotten: which doors and callbacks are theirs, and who else bears the name."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pipeline.errors import UserError, nearest
from pipeline.ingest.history.store import ERASED
from pipeline.ingest.landing.erased_texts import plain
from pipeline.ingest.linking.names import name_of
from pipeline.ingest.linking.places import place_of
from pipeline.summary import counted

if TYPE_CHECKING:
    import duckdb

MOST_TOLD = 8
_ROWS = f"""
    SELECT 'installs', install_id, load, "row", customer, address, postcode, NULL FROM people.install_rows
    WHERE NOT starts_with(coalesce(customer, address, postcode, ''), '{ERASED}')
    UNION ALL
    SELECT 'callbacks', callback_id, load, "row", customer, address, postcode, note FROM people.callback_rows
    WHERE NOT starts_with(coalesce(customer, address, postcode, note, ''), '{ERASED}')
    ORDER BY ALL
"""


@dataclass(frozen=True)
class Row:
    """The personal cells of one row of installs or callbacks. key: its install_id or callback_id."""

    record: str
    key: str
    load: int
    row: int
    customer: str | None
    address: str | None
    postcode: str | None
    note: str | None

    @property
    def place(self) -> str:
        """Address and postcode as written; empty where there is neither."""
        return ", ".join(part for part in (self.address, self.postcode) if part)


@dataclass(frozen=True)
class Person:
    """rows: those that bear the name. callback_ids: theirs and all others of their doors."""

    rows: tuple[Row, ...]
    doors: tuple[str, ...]
    callback_ids: tuple[str, ...]

    @property
    def place(self) -> str:
        """Where the person is, as it is written most fully."""
        return max((row.place for row in self.rows), key=len, default="")

    def told(self) -> str:
        """The person as one of several of the name."""
        doors = f"{counted(len(self.doors), 'door')}{f' ({listed(self.doors)})' if self.doors else ''}"
        return f"{self.place or 'no address'}: {doors}, {counted(len(self.callback_ids), 'callback')}"


@dataclass(frozen=True)
class Wanted:
    """What the command asks for. address, door: tell one of several of the name; every: all of them."""

    name: str
    address: str | None = None
    door: str | None = None
    every: bool = False


def rows_of_people(connection: "duckdb.DuckDBPyConnection") -> list[Row]:
    """Every row of which something personal is kept."""
    return [Row(*row) for row in connection.execute(_ROWS).fetchall()]


def find_persons(rows: list[Row], doors_of: dict[str, str], wanted: Wanted) -> list[Person]:
    """The person wanted; several only where every one of the name is.

    doors_of  the door of each callback that has one
    Raises UserError where nobody has the name, or several have and it is not said which.
    """
    name = plain(wanted.name)
    bearers = [row for row in rows if name and plain(row.customer) == name]
    if not bearers:
        raise UserError(_nobody(rows, wanted))
    persons = [_person(group, rows, doors_of) for group in _groups(bearers, doors_of)]
    chosen = [one for one in persons if _is_meant(one, wanted)]
    if not chosen:
        raise UserError(f"No '{wanted.name}' is at that address or door; there is: {_list(persons)}.")
    if len(chosen) > 1 and not wanted.every:
        raise UserError(
            f"{len(chosen)} customers are called '{wanted.name}': {_list(chosen)}; "
            "say which with --address or --door, or --all for all of them."
        )
    return chosen


def listed(names: Iterable[str]) -> str:
    """The first few names."""
    names = list(names)
    more = f" and {len(names) - MOST_TOLD:,} more" if len(names) > MOST_TOLD else ""
    return f"{', '.join(names[:MOST_TOLD])}{more}"


def _list(persons: list[Person]) -> str:
    more = f"; and {len(persons) - MOST_TOLD:,} more" if len(persons) > MOST_TOLD else ""
    return "; ".join(one.told() for one in persons[:MOST_TOLD]) + more


def _nobody(rows: list[Row], wanted: Wanted) -> str:
    names = sorted({row.customer for row in rows if row.customer})
    near = nearest(wanted.name, names, count=3)
    hint = f"did you mean {' or '.join(near)}?" if near else "write the name as it stands in your records."
    return f"No customer is called '{wanted.name}'; {hint}"


def _is_meant(person: Person, wanted: Wanted) -> bool:
    if wanted.door is not None and wanted.door not in person.doors:
        return False
    if wanted.address is None:
        return True
    asked = plain(wanted.address)
    return any(asked in text for row in person.rows for text in (plain(row.place), plain(row.place).replace(" ", "")))


def _person(bearers: list[Row], rows: list[Row], doors_of: dict[str, str]) -> Person:
    """The person of some rows, with the rows of the same place under another spelling of the name."""
    places = {mark for row in bearers for mark in _place_marks(row)}
    name = name_of(bearers[0].customer)
    alike = [row for row in rows if places & set(_place_marks(row)) and _is_alike(name_of(row.customer), name)]
    theirs = sorted({*bearers, *alike}, key=lambda row: (row.record, row.key, row.load, row.row))
    doors = {row.key for row in theirs if row.record == "installs"}
    own = {row.key for row in theirs if row.record == "callbacks"}
    at_doors = {callback for callback, door in doors_of.items() if door in doors}
    return Person(tuple(theirs), tuple(sorted(doors)), tuple(sorted(own | at_doors)))


def _is_alike(one: tuple[str | None, ...], other: tuple[str | None, ...]) -> bool:
    """Whether surname and initial, where both are written, are the same."""
    return one[0] is not None and one[0] == other[0] and (None in (one[1], other[1]) or one[1] == other[1])


def _place_marks(row: Row) -> Iterator[tuple[str, ...]]:
    """By what a row's place is told to be another's."""
    if plain(row.address):
        yield "address", plain(row.address)
    place = place_of(row.address, row.postcode)
    if place.postcode and place.house:
        yield "house", place.postcode, place.house, place.flat or ""


def _groups(bearers: list[Row], doors_of: dict[str, str]) -> list[list[Row]]:
    """The rows of one name by person: rows of one place, one door or one key are the same person's."""
    groups: list[tuple[set[tuple[str, ...]], list[Row]]] = []
    for row in bearers:
        door = row.key if row.record == "installs" else doors_of.get(row.key)
        marks = {(row.record, row.key), *_place_marks(row), *([("door", door)] if door else [])}
        joined = [group for group in groups if group[0] & marks]
        groups = [group for group in groups if not group[0] & marks]
        groups.append((marks.union(*(one for one, _ in joined)), [*(r for _, rs in joined for r in rs), row]))
    return _with_placeless([rows for _, rows in groups])


def _with_placeless(groups: list[list[Row]]) -> list[list[Row]]:
    """Rows without an address belong to the only person they can belong to, if there is one."""
    placed = [rows for rows in groups if any(row.address for row in rows)]
    for rows in groups:
        if rows in placed:
            continue
        codes = {plain(row.postcode) for row in rows if row.postcode}
        fitting = [one for one in placed if not codes or codes & {plain(row.postcode) for row in one if row.postcode}]
        if len(fitting) == 1:
            fitting[0].extend(rows)
        else:
            placed = [*placed, rows]
    return placed
