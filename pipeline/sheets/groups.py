"""What one reading or check of the sheets is, and the groups they are written down in. No sizes, no files."""

from dataclasses import dataclass

from pipeline.sheets.limits import DoorLimit


@dataclass(frozen=True)
class Place:
    """Where one reading is taken, in the words of the record. planned: where it should lie, mm, for fixings."""

    member: str | None = None
    station: str | None = None
    position: int | None = None
    planned: int | None = None


@dataclass(frozen=True)
class Rule:
    """A limit that a spreadsheet can hold against cells: what is made of them, and the bounds of that.

    how  spread, level, difference (per member, of its cells), step (neighbours of a member), each (a cell by itself)
    """

    how: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Reading:
    """One measure at its places. where: how and where to read it, in a sentence."""

    measure: str
    words: str
    where: str
    unit: str
    places: tuple[Place, ...]
    limits: tuple[DoorLimit, ...] = ()
    rule: Rule | None = None
    note: str = ""

    @property
    def members(self) -> tuple[str | None, ...]:
        """Its members, in order."""
        return tuple(dict.fromkeys(place.member for place in self.places))


@dataclass(frozen=True)
class Seen:
    """One check, once a door or once a leaf. fails: the state in which it fails."""

    check: str
    fails: str
    members: tuple[str | None, ...]


@dataclass(frozen=True)
class Step:
    """What is read and seen in one step of the work, and what to beware of first."""

    name: str
    readings: tuple[Reading, ...]
    checks: tuple[Seen, ...]
    caution: str = ""


def numbered(steps: tuple[Step, ...]) -> dict[tuple[str, Place], int]:
    """The line of each reading, from 1 in the order of the work: the same on paper and in the workbook."""
    keys = [(reading.measure, place) for step in steps for reading in step.readings for place in reading.places]
    return {key: number for number, key in enumerate(keys, start=1)}
