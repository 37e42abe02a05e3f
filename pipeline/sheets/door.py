"""The door that sheets are made for: sizes that can be, and where along it to read. Reads no records."""

from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from pipeline.errors import UserError
from pipeline.ingest.judging.leaf_widths import POSSIBLE as POSSIBLE_LEAF
from pipeline.ingest.records import INSTALLS

# mm from an end of a member to the first station: nearer, a staff finds no room. Common practice, no source.
FROM_END = 50
MOST_APART = 750  # along the sill, mm: common practice, no source
LONG = 4000  # from here an opening is measured at five places across, not three: common practice, no source
SHORTEST_MEMBER = 500  # two fixings, each 150 to 250 mm from a corner, need as much
LARGEST = {"width": 20_000, "height": 10_000}  # what a reading of the frame may be
MOST_LEAVES = int(INSTALLS.column("leaves").high or 0)


@dataclass(frozen=True)
class Door:
    """Frame sizes in whole mm, seen from inside; leaves counted from the left."""

    width: int
    height: int
    leaves: int

    @property
    def leaf_names(self) -> tuple[str, ...]:
        """leaf_1, leaf_2 ... from the left."""
        return tuple(f"leaf_{number}" for number in range(1, self.leaves + 1))

    @property
    def joints(self) -> tuple[int, ...]:
        """Where leaves meet, mm from the left."""
        return tuple(round(self.width * number / self.leaves) for number in range(1, self.leaves))


def door_of(width: float, height: float, leaves: int) -> Door:
    """The door. Raises UserError, one sentence, for a size that no door can have."""
    if not 1 <= leaves <= MOST_LEAVES:
        raise UserError(f"--leaves {leaves} cannot be: give 1 to {MOST_LEAVES}.")
    for name, size in (("width", width), ("height", height)):
        if not SHORTEST_MEMBER <= size <= LARGEST[name]:
            metres = f"; {size:g} m is {size * 1000:,.0f} mm" if 0.5 <= size <= 20 else ""
            bounds = f"give mm between {SHORTEST_MEMBER} and {LARGEST[name]:,}"
            raise UserError(f"--{name} {size:.10g} mm cannot be the {name} of a door: {bounds}{metres}.")
    each = width / leaves
    if not POSSIBLE_LEAF[0] <= each <= POSSIBLE_LEAF[1]:
        plural = "leaf" if leaves == 1 else "leaves"
        raise UserError(
            f"{leaves} {plural} in {width:,.10g} mm would be {each:,.0f} mm wide each, which no leaf is: "
            "correct --width or --leaves."
        )
    return Door(round(width), round(height), leaves)


def spread_over(length: int, count: int, from_end: int = FROM_END) -> tuple[int, ...]:
    """`count` stations from end to end of a member, mm, evenly."""
    step = (length - 2 * from_end) / (count - 1)
    return tuple(round(from_end + step * number) for number in range(count))


def sill_stations(door: Door) -> tuple[int, ...]:
    """Both ends, every joint of leaves, and between them so that none are more than 750 mm apart; mm from the left."""
    fixed = (FROM_END, *door.joints, door.width - FROM_END)
    stations = [FROM_END]
    for left, right in pairwise(fixed):
        parts = ceil((right - left) / MOST_APART)
        stations += [round(left + (right - left) * part / parts) for part in range(1, parts + 1)]
    return tuple(stations)


def across(length: int) -> tuple[int, ...]:
    """Where to measure an opening across a side: three places, five on a long one; mm."""
    return spread_over(length, 5 if length > LONG else 3)
