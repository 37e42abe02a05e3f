"""The fixing plan: where the fixings of each member of the frame go. Positions in mm from its left or lower end."""

from dataclasses import dataclass
from math import ceil

from pipeline.sheets.door import Door

MOST_APART = 600
NEAREST_CORNER, FARTHEST_CORNER = 150, 250
USUAL_CORNER = 200
LEAST = 2
SOURCE = "NHBC Standards 6.7.11; the product's own instructions go before"
PACKER_FROM_FIXING = 50  # on each side, mm: common practice, no source; within 100 mm counts as packed


@dataclass(frozen=True)
class MemberPlan:
    """The fixings of one member. positions: mm from the left or lower end, whole numbers."""

    member: str
    length: int
    positions: tuple[int, ...]

    @property
    def packers(self) -> tuple[int, ...]:
        """A packer on both sides of every fixing, mm."""
        return tuple(at + side for at in self.positions for side in (-PACKER_FROM_FIXING, PACKER_FROM_FIXING))


def least_fixings(length: float) -> int:
    """Fixings that a member needs: at most 600 mm apart, at most 250 mm from the corners, two at least."""
    # a hair less, so that exactly 600 mm is no step too long by the rounding of a float
    return max(LEAST, ceil((length - 2 * FARTHEST_CORNER) / MOST_APART - 1e-9) + 1)


def plan_member(member: str, length: int) -> MemberPlan:
    """As few fixings as will do, evenly spaced, 200 mm from the corners or as much more as the spacing asks for."""
    count = least_fixings(length)
    corner = max(USUAL_CORNER, ceil((length - MOST_APART * (count - 1)) / 2))
    gaps, span = count - 1, length - 2 * corner
    # steps in whole mm: rounding the positions could make one of 600 into 601
    positions = tuple(corner + span * number // gaps for number in range(count))
    return MemberPlan(member, length, positions)


def fixing_plan(door: Door) -> tuple[MemberPlan, ...]:
    """Sill, jambs and head."""
    lengths = {"sill": door.width, "left_jamb": door.height, "right_jamb": door.height, "head": door.width}
    return tuple(plan_member(member, length) for member, length in lengths.items())
