"""The leaves of one door as they were read: their gaps, and which of them the tables' figures belong to."""

from dataclasses import dataclass

from pipeline.door.geometry import ROUNDING, LeafGaps
from pipeline.door.places import Read
from pipeline.report.numbers import natural

MOST_PLACES = 12  # hinges or places of a seal on one leaf


@dataclass(frozen=True)
class Leaf:
    """One leaf, counted from the left.

    rising, falling  its diagonals, mm
    packers          how many behind each hinge read, from the top
    seals            compression at each place read, mm
    force            to run it, N
    """

    number: int
    gaps: LeafGaps
    rising: float | None
    falling: float | None
    packers: tuple[float | None, ...]
    seals: tuple[float | None, ...]
    force: tuple[float | None, ...]

    @property
    def is_read(self) -> bool:
        """Anything of it that is drawn was read."""
        is_measured = not self.gaps.is_empty or self.out_of_square is not None
        return is_measured or bool(self.packers or self.seals or self.force)

    @property
    def out_of_square(self) -> float | None:
        """Difference of its diagonals, mm, without sign."""
        return None if self.rising is None or self.falling is None else abs(self.rising - self.falling)


def leaves_of(read: Read, leaves: int | None) -> tuple[Leaf, ...]:
    """Every leaf of the door; where their number is not recorded, those that were read."""
    named = {
        int(name)
        for spots in read.spots.values()
        for spot in spots
        if (name := spot.member.removeprefix("leaf_")).isdecimal() and len(name) <= 2
    }
    return tuple(_leaf(read, number) for number in range(1, (leaves or max(named, default=0)) + 1))


def _leaf(read: Read, number: int) -> Leaf:
    name = f"leaf_{number}"
    gaps = LeafGaps(
        read.at("head_gap", name, "hinge"), read.at("head_gap", name, "lock"),
        read.at("threshold_gap", name, "hinge"), read.at("threshold_gap", name, "lock"),
        read.at("side_gap", name, "top"), read.at("side_gap", name, "bottom"),
    )  # fmt: skip
    return Leaf(
        number, gaps, read.at("leaf_diagonal", name, "rising"), read.at("leaf_diagonal", name, "falling"),
        _values(read, "hinge_packers", name), _values(read, "seal_compression", name),
        _values(read, "running_force", name),
    )  # fmt: skip


def _values(read: Read, measure: str, name: str) -> tuple[float | None, ...]:
    """In the order of the places, None for a numbered place that has no number."""
    spots = sorted(read.of(measure, name), key=lambda spot: natural(spot.station))
    if not spots or not all(spot.station.isdecimal() for spot in spots) or int(spots[-1].station) > MOST_PLACES:
        return tuple(spot.value for spot in spots)
    found = {int(spot.station): spot.value for spot in spots}
    return tuple(found.get(place) for place in range(1, max(found) + 1))


def lowest_leaf(leaves: tuple[Leaf, ...], drop: float | None) -> Leaf | None:
    """The leaf that the door's leaf drop is that of; None where its stations scale it and none fits as read."""
    if drop is None:
        return None
    return next((leaf for leaf in leaves if (own := leaf.gaps.drop) is not None and abs(own - drop) < ROUNDING), None)
