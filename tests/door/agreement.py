"""Deviations as they come of the places that are drawn, to be held to the tables."""

from collections.abc import Iterator

from pipeline.door.geometry import Points, fitted_line, racking, without_packers
from pipeline.door.leaves import leaves_of
from pipeline.door.places import read_of
from pipeline.door.trail import DoorTrail


def bow(points: Points) -> float | None:
    """The largest distance of a reading from the least-squares line, mm; None under three places."""
    line = fitted_line(points)
    if line is None or len({at for at, _ in points}) < 3:
        return None
    return max(abs(value - line.value(at)) for at, value in points)


def made_of_places(trail: DoorTrail) -> Iterator[tuple[str, float | None]]:
    """Deviations as they come of the places that are drawn."""
    facts = trail.facts
    found = read_of(trail.readings, facts["width_mm"], facts["height_mm"])
    sill, head = found.line("sill_height"), found.line("clear_height")
    line = fitted_line(sill)
    yield "sill_level_error", abs(line.rise) if line else None
    yield "sill_bow", bow(sill)
    yield "head_bow", bow(head)
    yield "head_parallel_error", max(v for _, v in head) - min(v for _, v in head) if len(head) > 1 else None
    jambs = [fitted_line(found.line(m, j)) for m in ("jamb_edge", "jamb_face") for j in ("left_jamb", "right_jamb")]
    yield "jamb_plumb_error", max((abs(jamb.rise) for jamb in jambs if jamb), default=None)
    rising, falling = (found.at("frame_diagonal", None, side) for side in ("rising", "falling"))
    widths = [spot.value for spot in found.of("frame_width")]
    if rising is not None and falling is not None:
        width = sum(widths) / len(widths) if widths else facts["width_mm"]
        yield "frame_racking", abs(racking(rising, falling, width))
    leaves = leaves_of(found, facts["leaves"])
    tapers = [abs(leaf.gaps.taper_under) for leaf in leaves if leaf.gaps.taper_under is not None]
    yield "gap_taper", max(tapers, default=None)
    yield "leaf_drop", max((drop for leaf in leaves if (drop := leaf.gaps.drop) is not None), default=None)
    yield "leaf_diagonal_difference", max((leaf.out_of_square for leaf in leaves if leaf.out_of_square is not None),
                                          default=None)  # fmt: skip
    jambs_fixed = [(found.of("fixing", jamb), found.of("packer", jamb)) for jamb in ("left_jamb", "right_jamb")]
    fixed = [tuple(spot.value for spot in fixings) for fixings, _ in jambs_fixed]
    if any(fixed) and any(packers for _, packers in jambs_fixed):
        bare = [
            without_packers(at, tuple(spot.value for spot in packers))
            for at, (_, packers) in zip(fixed, jambs_fixed, strict=True)
        ]
        yield "unpackered_fixings", sum(map(len, bare)) / sum(map(len, fixed))
