"""The plane geometry of one door: lines through readings, leans, racking, leaf drop. Numbers in, numbers out; mm.

Formulas and worked examples: plain plane geometry (the law of cosines for racking, least squares for lines).
"""

from dataclasses import dataclass
from itertools import pairwise

Points = tuple[tuple[float, float], ...]  # mm along a member, reading in mm

NEAR = 100.0  # a packer within 100 mm stands beside its fixing: common practice, no source
ROUNDING = 1e-6


@dataclass(frozen=True)
class Line:
    """A straight line through readings. start, end: mm along; at_start: its value there; slope: mm a mm."""

    start: float
    end: float
    at_start: float
    slope: float

    @property
    def rise(self) -> float:
        """By how much it rises from end to end, mm, signed."""
        return self.slope * (self.end - self.start)

    def value(self, at: float) -> float:
        """Its value at a place."""
        return self.at_start + self.slope * (at - self.start)


def fitted_line(points: Points) -> Line | None:
    """The least-squares line; None under two different places.

    >>> round(fitted_line(((0, 12.0), (1050, 13.1), (2100, 14.6))).rise, 1)
    2.6
    """
    places = [at for at, _ in points]
    if len(set(places)) < 2:
        return None
    middle, level = sum(places) / len(points), sum(value for _, value in points) / len(points)
    spread = sum((at - middle) ** 2 for at in places)
    slope = sum((at - middle) * (value - level) for at, value in points) / spread
    start, end = min(places), max(places)
    return Line(start, end, level + slope * (start - middle), slope)


def racking(rising: float, falling: float, width: float) -> float:
    """How far the head is pushed to the right over the height: (rising² - falling²) / (4 width), mm.

    >>> round(racking(4521, 4515, 4000), 2)
    3.39
    """
    return (rising - falling) * (rising + falling) / (4 * width)


@dataclass(frozen=True)
class LeafGaps:
    """The gaps round one leaf, mm; None: not read."""

    over_hinge: float | None
    over_lock: float | None
    under_hinge: float | None
    under_lock: float | None
    beside_top: float | None
    beside_bottom: float | None

    @property
    def is_empty(self) -> bool:
        """None of them was read."""
        return all(gap is None for gap in vars(self).values())

    @property
    def taper_over(self) -> float | None:
        """Lock less hinge over the leaf."""
        return _difference(self.over_lock, self.over_hinge)

    @property
    def taper_under(self) -> float | None:
        """Lock less hinge under the leaf."""
        return _difference(self.under_lock, self.under_hinge)

    @property
    def taper_beside(self) -> float | None:
        """Top less bottom beside the leaf."""
        return _difference(self.beside_top, self.beside_bottom)

    @property
    def drop(self) -> float | None:
        """How low its lock side hangs, between the stations of the gaps over and under it."""
        if self.taper_over is None or self.taper_under is None:
            return None
        return (self.taper_over - self.taper_under) / 2


def _difference(one: float | None, other: float | None) -> float | None:
    return None if one is None or other is None else one - other


def far_apart(places: tuple[float, ...], most: float) -> tuple[tuple[float, float], ...]:
    """Neighbours that stand farther apart than `most`; the limit itself is a pass."""
    return tuple((a, b) for a, b in pairwise(sorted(places)) if b - a > most + ROUNDING)


def without_packers(fixings: tuple[float, ...], packers: tuple[float, ...]) -> tuple[float, ...]:
    """Fixings without a packer beside them on one side or both."""
    return tuple(at for at in fixings if not (_beside(at, packers, -1) and _beside(at, packers, 1)))


def _beside(fixing: float, packers: tuple[float, ...], side: int) -> bool:
    return any(-ROUNDING <= (packer - fixing) * side <= NEAR + ROUNDING for packer in packers)
