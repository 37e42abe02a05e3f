"""Where the fixings of a frame sit, so that the widest spacing and the nearest corner are as drawn."""

from dataclasses import dataclass

import numpy as np

from pipeline.demo.arrays import Floats, Ints

MEMBERS = ("left_jamb", "right_jamb", "head", "sill")
FRAME_MEMBERS = 3  # the sill's spacing is a deviation of its own


@dataclass(frozen=True)
class FixingPlan:
    """Per door and member (order of MEMBERS), mm: first and last distance, widest spacing, count; shapes (n, 4)."""

    length: Floats
    first: Floats
    last: Floats
    widest: Floats
    count: Ints


def plan_fixings(width: Floats, height: Floats, deviations: dict[str, Floats]) -> FixingPlan:
    """The layout that the drawn deviations ask for: one frame member has the widest spacing, one end the nearest.

    deviations  fixing_spacing, fixing_corner_distance, sill_fixing_spacing, mm
    Which member is the worst turns from door to door.
    """
    door = np.arange(len(width))
    length = np.stack([height, height, width, width], axis=1)
    corner = deviations["fixing_corner_distance"]
    first = corner[:, None] + np.array([0.0, 25.0, 10.0, 20.0])
    last = corner[:, None] + np.array([15.0, 5.0, 30.0, 20.0])
    easing = np.array([1.0, 0.9, 0.8])[(door[:, None] + np.arange(FRAME_MEMBERS)) % FRAME_MEMBERS]
    widest = np.column_stack([deviations["fixing_spacing"][:, None] * easing, deviations["sill_fixing_spacing"]])
    usable = length - first - last
    count = np.ceil(usable / widest - 1e-9).astype(np.int64) + 1
    return FixingPlan(length, first, last, widest, count)


def fixing_positions(plan: FixingPlan, member: int) -> tuple[Floats, Ints]:
    """Distances along a member, mm, shape (doors, most fixings), NaN beyond a door's count; and the counts.

    The widest spacing stands in the middle of the member, the others share what is left.
    """
    count, widest = plan.count[:, member], plan.widest[:, member]
    usable = plan.length[:, member] - plan.first[:, member] - plan.last[:, member]
    ordinal = np.arange(count.max())
    other = (usable - widest) / np.maximum(count - 2, 1)
    steps = np.where(ordinal[None, 1:] == (count // 2)[:, None], widest[:, None], other[:, None])
    steps = np.where(count[:, None] == 2, usable[:, None], steps)
    along = np.column_stack([plan.first[:, member], plan.first[:, member, None] + np.cumsum(steps, axis=1)])
    return np.where(ordinal < count[:, None], along, np.nan), count
