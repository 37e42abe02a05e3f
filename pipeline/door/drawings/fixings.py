"""Fixings, packers and the gap to the wall, all to scale and none exaggerated, held against the limits on spacing."""

from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.door.drawings import pen
from pipeline.door.drawings.pen import Point
from pipeline.door.geometry import far_apart, without_packers
from pipeline.door.limits import Judged
from pipeline.door.places import Read
from pipeline.report.drawing.pencils import BLUE, GREY, INK, RED
from pipeline.report.numbers import number

MEMBERS = ("left_jamb", "right_jamb", "head", "sill")
UPRIGHT = MEMBERS[:2]
SPACING = {"left_jamb": "fixing_spacing", "right_jamb": "fixing_spacing", "head": "fixing_spacing",
           "sill": "sill_fixing_spacing"}  # fmt: skip
MARGIN, GAPS = 44, 22  # px round the frame for numbers of fixings, and more for those of gaps to the wall
WORDED = 30  # px more at the sides where the gap is named


@dataclass(frozen=True)
class Plan:
    """The frame on a paper. left, top: px to its corner; scale: px a mm; size in mm; is_worded: gaps are named."""

    read: Read
    judged: dict[str, Judged]
    width: float
    height: float
    left: float
    top: float
    scale: float
    is_worded: bool

    def point(self, member: str, at: float, outwards: float = 0.0) -> Point:
        """A place along a member, and px outwards from it."""
        right, foot = self.left + self.width * self.scale, self.top + self.height * self.scale
        if member in UPRIGHT:
            x = self.left - outwards if member == "left_jamb" else right + outwards
            return x, foot - at * self.scale
        return self.left + at * self.scale, self.top - outwards if member == "head" else foot + outwards

    def places(self, measure: str, member: str) -> tuple[float, ...]:
        """Where fixings or packers are, mm along the member."""
        return tuple(sorted(spot.value for spot in self.read.of(measure, member)))

    def length(self, member: str) -> float:
        """mm."""
        return self.height if member in UPRIGHT else self.width


def draw_fixings(plan: Plan) -> tuple[str, float]:
    """The plan as SVG, and the px down to its foot."""
    corners = [("sill", 0.0), ("sill", plan.width), ("head", plan.width), ("head", 0.0), ("sill", 0.0)]
    parts = [pen.path([plan.point(member, at) for member, at in corners], INK, pen.THICK)]
    for member in MEMBERS:
        parts += [*_spacing(plan, member), *_marks(plan, member), *_corner(plan, member), *_wall(plan, member)]
    return "".join(parts), plan.top + plan.height * plan.scale + plan.top


def _marks(plan: Plan, member: str) -> Iterator[str]:
    """A thick stroke for each fixing, a thin one for each packer; a ring round a fixing that has none beside it."""
    fixings, packers = plan.places("fixing", member), plan.places("packer", member)
    for at in packers:
        yield pen.line(plan.point(member, at, 4), plan.point(member, at, 10), GREY)
    for at in fixings:
        yield pen.line(plan.point(member, at, -7), plan.point(member, at, 10), BLUE, 3)
    judged = plan.judged.get("unpackered_fixings")
    if judged is not None and member in UPRIGHT:
        for at in without_packers(fixings, packers):
            yield pen.ring(plan.point(member, at, -14), 4, pen.DECISION.get(judged.decision, INK))


def _spacing(plan: Plan, member: str) -> Iterator[str]:
    """Where neighbours stand too far apart: their distance, and hatched what lies beyond the limit."""
    judged = plan.judged.get(SPACING[member])
    if judged is None or judged.upper is None or judged.decision == "within":
        return
    for low, high in far_apart(plan.places("fixing", member), judged.upper):
        limit, pencil = low + judged.upper, pen.DECISION[judged.decision]
        corners = [plan.point(member, limit), plan.point(member, high), plan.point(member, high, -14)]
        yield pen.hatched([*corners, plan.point(member, limit, -14)], judged.decision)
        yield pen.line(plan.point(member, limit, -20), plan.point(member, limit, 12), RED, dash="chain")
        ends = plan.point(member, low, -26), plan.point(member, high, -26)
        if member in UPRIGHT:
            yield pen.upright_dimension(*ends, number(high - low), pencil, is_left=member == "right_jamb")
        else:
            yield pen.dimension(*ends, number(high - low), pencil)


def _corner(plan: Plan, member: str) -> Iterator[str]:
    """The distance of the outer fixings from their corners, and the number of each member's fixings."""
    fixings, judged = plan.places("fixing", member), plan.judged.get("fixing_corner_distance")
    if not fixings:
        return
    first, last = fixings[0], fixings[-1]
    ends = ((first, first), (last, plan.length(member) - last)) if len(fixings) > 1 else ((first, first),)
    for at, distance in ends:
        decision = judged.of(distance) if judged else "within"
        x, y = plan.point(member, at, 16)
        anchor = {"left_jamb": "end", "right_jamb": "start"}.get(member, "middle")
        drop = {"head": -2.0, "sill": 10.0}.get(member, 4.0)
        yield pen.words((x, y + drop), number(distance), pen.DECISION.get(decision, INK), anchor)
    if member not in UPRIGHT:
        x, y = plan.point(member, plan.width / 2, -16)
        yield pen.words((x, y + 4), f"{len(fixings)} in the {member}", GREY)


def _wall(plan: Plan, member: str) -> Iterator[str]:
    """The gap to the wall where it was read; the wall itself is not drawn to scale."""
    judged = plan.judged.get("perimeter_gap_shortfall")
    gaps = plan.read.line("perimeter_gap", member)
    tightest = min((spot.value for spot in plan.read.of("perimeter_gap")), default=None)
    beyond = 44 if member in UPRIGHT else 36  # the numbers of its fixings
    outwards = beyond if plan.places("fixing", member) else 12
    for at, gap in gaps:
        x, y = plan.point(member, at, outwards)
        yield pen.line(plan.point(member, at, 2), plan.point(member, at, 8), GREY)
        anchor = {"left_jamb": "end", "right_jamb": "start"}.get(member, "middle")
        is_worst = judged is not None and gap == tightest
        pencil = pen.DECISION.get(judged.decision, INK) if is_worst and judged else INK
        yield pen.words((x, y + 4), f"gap {number(gap, 1)}" if plan.is_worded else number(gap, 1), pencil, anchor)
