"""Whose door it is and what was noted at its calls, from people.duckdb: read only where `--with-people` asks for it."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.crew_codes import Coder, published_codes
from pipeline.door.life import Event
from pipeline.door.trail import DoorTrail, Row, ask
from pipeline.errors import UserError
from pipeline.folders import DOORS_WITH_PEOPLE, PEOPLE
from pipeline.publish import RESULTS
from pipeline.report.numbers import as_name, day
from pipeline.report.sheet import Item, Listing
from pipeline.warehouse import attach, open_results

PERSON = ("customer", "address", "postcode")
_DOOR = "SELECT customer, address, postcode FROM people.install_people WHERE install_id = $id"
_CALLS = """
    SELECT l.callback_id, p.customer, p.address, p.postcode, p.note
    FROM linked_callbacks AS l JOIN people.callback_people AS p ON p.callback_id = l.callback_id
    WHERE l.install_id = $id ORDER BY l.callback_id
"""
PERSONAL = (
    "This sheet holds personal data: keep it as you keep people.duckdb, hand it to nobody who need not know it, and "
    f"delete it after use; fitback forget looks for it in {DOORS_WITH_PEOPLE}/."
)
HOW = "As the records write it, customer and address where they are other than the door's; nothing here was judged."
NOT_RECORDED = "not on record, or erased"


@dataclass(frozen=True)
class People:
    """door: customer, address and postcode; calls: the same and the note, by callback_id. Cells are None if unknown."""

    door: Row
    calls: dict[str, Row]

    @property
    def whose(self) -> str:
        """`Customer: Anna Example, 12 Elm Road, ZZ1 1EX.`"""
        return f"Customer: {_person(self.door) or NOT_RECORDED}."

    def said_of(self, callback_id: str) -> str:
        """The note of a call, and who called where that is not the customer of the door."""
        row = self.calls.get(callback_id, {})
        is_other = any(row.get(name) and row[name] != self.door.get(name) for name in PERSON)
        other = f"{_person(row)}: " if is_other else ""
        return f"{other}{as_name(row.get('note')) or f'note {NOT_RECORDED}'}"

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        return {"door": self.door, "calls": list(self.calls.values())}


def people_of(install_id: str, folder: Path) -> People:
    """The personal cells of a door and of its callbacks in the output folder.

    Raises UserError where people.duckdb is not there.
    """
    if not (folder / PEOPLE).is_file():
        raise UserError(f"{folder} holds no {PEOPLE}, so no customer is known; ask without --with-people.")
    with open_results(folder / RESULTS) as results:
        attach(results, folder / PEOPLE, "people")
        door = next(iter(ask(results, _DOOR, install_id)), {})
        calls, codes = ask(results, _CALLS, install_id), published_codes(results, folder)
    if codes:  # a note may name a crew
        coder = Coder(codes)
        calls = [row | {"note": coder.loose(row["note"])} if row["note"] else row for row in calls]
    return People(door, {row["callback_id"]: row for row in calls})


def lines_of_people(trail: DoorTrail, people: People) -> list[str]:
    """For the terminal: whose door it is, and the note of each call."""
    notes = [f"  {row['callback_id']}: {people.said_of(row['callback_id'])}" for row in trail.callbacks]
    return [people.whose, *(["Notes:", *notes] if notes else [])]


def notes_listing(events: tuple[Event, ...], people: People) -> Listing | None:
    """For the sheet: the note of each call, in order; None where nobody called."""
    items = tuple(
        Item(people.said_of(event.callback["callback_id"]), f"{event.letter} {day(event.on)}.")
        for event in events
        if event.callback
    )
    return Listing("notes", "What was noted at each call", items, HOW) if items else None


def _person(row: Row) -> str:
    return ", ".join(as_name(row[name]) for name in PERSON if row.get(name))
