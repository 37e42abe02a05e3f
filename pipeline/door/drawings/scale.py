"""How large the door stands on the paper, and by how much its errors are exaggerated. The factor is always stated."""

from pipeline.door.geometry import Points
from pipeline.door.places import Read

FACTORS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 120, 150, 200)
MOST_ERROR = 300.0  # mm: a reading farther off is no deviation but a slip, and is told, not drawn


def factor_of(most: float, scale: float, room: float) -> int:
    """The largest round factor that keeps `most` mm within `room` px; scale: px a mm of the door."""
    fitting = [factor for factor in FACTORS if most * scale * factor <= room]
    return fitting[-1] if fitting else FACTORS[0]


def is_slip(points: Points) -> bool:
    """A reading lies so far from the first that it cannot be meant."""
    return any(abs(value - points[0][1]) > MOST_ERROR for _, value in points)


def slips_of(read: Read) -> list[str]:
    """Members that are not drawn for such a reading, in words."""
    lines = {
        "the sill": read.line("sill_height"), "the sill from above": read.line("sill_line"),
        "the head": read.line("clear_height"),
    }  # fmt: skip
    for member, name in (("left_jamb", "left jamb"), ("right_jamb", "right jamb")):
        lines[f"the {name} in its plane"] = read.line("jamb_edge", member)
        lines[f"the {name} from the side"] = read.line("jamb_face", member)
    return [name for name, points in lines.items() if is_slip(points)]
