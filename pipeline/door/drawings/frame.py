"""Where the frame of a door stands on the paper: to scale, its errors exaggerated by one stated factor."""

from dataclasses import dataclass
from functools import cached_property

from pipeline.door.drawings.scale import factor_of, is_slip
from pipeline.door.geometry import Points, racking
from pipeline.door.limits import Judged
from pipeline.door.places import Read
from pipeline.report.drawing.drawn import NARROW, WIDE

OVER = 46  # px over the door: its numbers, and beside it the twist of the jambs
BESIDE = 52  # px beside the elevation for the numbers of its jambs
ROOM = {WIDE: 34.0, NARROW: 20.0}  # px that the largest error may take
JAMBS = ("left_jamb", "right_jamb")


@dataclass(frozen=True)
class Frame:
    """The frame on a paper. left, top: px to the corner of the door's ordered size; scale: px a mm; height in mm."""

    read: Read
    judged: dict[str, Judged]
    leaves: int | None
    width: float
    height: float
    left: float
    scale: float
    room: float

    @cached_property
    def sill(self) -> Points:
        """Heights over the left-hand reading, + up."""
        return from_first(self.read.line("sill_height"))

    @cached_property
    def head(self) -> Points:
        """Clear heights over the left-hand reading."""
        return from_first(self.read.line("clear_height"))

    @cached_property
    def jambs(self) -> dict[str, Points]:
        """In the plane of the door, over the lowest reading."""
        return {jamb: from_first(self.read.line("jamb_edge", jamb)) for jamb in JAMBS}

    @cached_property
    def factor(self) -> int:
        """By how much every error of the frame is exaggerated."""
        return factor_of(self._most, self.scale, self.room)

    @property
    def is_read(self) -> bool:
        """Any error of it is drawn."""
        return bool(self.sill or self.head or any(self.jambs.values()) or self.racked is not None)

    @property
    def _most(self) -> float:
        sizes = [abs(value) for points in (self.sill, *self.jambs.values()) for _, value in points]
        sizes += [abs(self.lift(at) + value) for at, value in self.head]
        named = [("sill_level_error", self.sill), ("head_parallel_error", self.head)]
        named += [("jamb_plumb_error", points) for points in self.jambs.values()]
        sizes += [self.judged[name].upper or 0.0 for name, points in named if name in self.judged and points]
        return max([*sizes, abs(self.racked or 0.0)], default=0.0)

    @property
    def error(self) -> float:
        """px a mm of error."""
        return self.scale * self.factor

    @cached_property
    def diagonals(self) -> tuple[float | None, float | None]:
        """mm: the one that rises to the right, the one that falls."""
        return self.read.at("frame_diagonal", None, "rising"), self.read.at("frame_diagonal", None, "falling")

    @property
    def racked(self) -> float | None:
        """By how much the diagonals alone push the head to the right, where no jamb was read in the plane."""
        rising, falling = self.diagonals
        widths = [spot.value for spot in self.read.of("frame_width")]
        if any(self.jambs.values()) or rising is None or falling is None:
            return None
        return racking(rising, falling, sum(widths) / len(widths) if widths else self.width)

    @cached_property
    def top(self) -> float:
        """px to the ordered head: below the numbers over it and the highest error."""
        highest = max((self.lift(at) + value for at, value in self.head), default=0.0)
        return OVER + max(highest, 0.0) * self.error

    @property
    def foot(self) -> float:
        """px to the ordered sill."""
        return self.top + self.height * self.scale

    def x(self, at: float, error: float = 0.0) -> float:
        """Along the door from the left; error to the right."""
        return self.left + at * self.scale + error * self.error

    def y(self, at: float, error: float = 0.0) -> float:
        """Up from the ordered sill; error upwards."""
        return self.foot - at * self.scale - error * self.error

    def lift(self, at: float) -> float:
        """How high the sill lies at a place, mm over its left-hand reading; 0 where it was not read."""
        if not self.sill:
            return 0.0
        before = [point for point in self.sill if point[0] <= at]
        after = [point for point in self.sill if point[0] > at]
        if not before or not after:
            return (before or after)[-1 if before else 0][1]
        (a, low), (b, high) = before[-1], after[0]
        return low + (high - low) * (at - a) / (b - a)

    def edge(self, jamb: str) -> float:
        """Where a jamb stands, mm from the left."""
        return 0.0 if jamb == JAMBS[0] else self.width


def from_first(points: Points) -> Points:
    """The readings over the first of them; none where one of them is a slip."""
    return () if is_slip(points) else tuple((at, value - points[0][1]) for at, value in points)
