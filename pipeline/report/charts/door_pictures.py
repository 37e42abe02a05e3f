"""Pictures of limits on the frame: sill, jambs, head, fixings, and where on the door a thing is looked at."""

from pipeline.report.charts.sketch import Point, Sketch

Sides = dict[str, int]
LEFT, RIGHT = 46, 280  # of a lying member
FAN = 26  # pixels from the datum to the limit at the far end
BAND = 13  # pixels hatched beyond a limit


def _level(sketch: Sketch, number: str, _: str, sides: Sides) -> None:
    """A sill within a fan that opens from one end."""
    y, side = 84, sides.get("sill_height", 0)
    near, far = (RIGHT, LEFT) if side < 0 else (LEFT, RIGHT)
    for way in (-1, 1):
        edge = y + way * FAN
        sketch.shape([(near, y), (far, edge), (far, edge + way * BAND), (near, y + way * 2)], "beyond")
        sketch.line((near, y), (far, edge), "limit")
    sketch.line((LEFT - 14, y), (RIGHT + 14, y), "chain")
    sketch.line((near, y), (far, y - FAN * 0.62), "member")
    inwards = 26 if far == RIGHT else -26
    sketch.dimension((far - inwards, y), (far - inwards, y - FAN * (1 - 26 / (RIGHT - LEFT))))
    sketch.words((far + (6 if far == RIGHT else -6), y - FAN + 4), number, "start" if far == RIGHT else "end", "red")
    sketch.words((LEFT - 14, 150), "level", "start", "quiet")
    sketch.line((LEFT + 20, 146), (LEFT + 66, 146), "chain")
    sketch.words((RIGHT + 14, 150), "sill, seen from inside", "end", "quiet")
    if side:
        sketch.words((far, y - FAN - BAND - 6), "usually high", "end" if side > 0 else "start", "blue")


def _bow(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    """A member within two straight limits."""
    y, middle = 88, (LEFT + RIGHT) / 2
    for way in (-1, 1):
        edge = y + way * FAN
        sketch.box(LEFT, edge if way > 0 else edge - BAND, RIGHT - LEFT, BAND, "beyond")
        sketch.line((LEFT, edge), (RIGHT, edge), "limit")
    sketch.line((LEFT - 14, y), (RIGHT + 14, y), "chain")
    sketch.curve((LEFT, y), (middle, y + 1.5 * FAN), (RIGHT, y))
    sketch.dimension((middle - 60, y), (middle - 60, y - FAN))
    sketch.words((middle - 52, y - 8), number, "start", "red")
    sketch.words((LEFT - 14, 150), "the straight line of its ends", "start", "quiet")
    sketch.words((RIGHT + 14, 150), "dip or hump", "end", "quiet")


def _tilt(sketch: Sketch, _: str, __: str, sides: Sides) -> None:
    """A sill cut across, twice: level or falling out, and falling in."""
    y, wide = 84, 96
    for left, fall in ((44, 12), (200, -14)):
        inner, outer = y + max(-fall, 0), y + max(fall, 0)
        if fall < 0:
            sketch.shape([(left, y), (left + wide, y), (left, inner)], "beyond")
        sketch.line((left - 12, y), (left + wide + 12, y), "limit" if fall < 0 else "chain")
        sketch.shape([(left, inner), (left + wide, outer), (left + wide, y + 38), (left, y + 38)], "member")
        sketch.words((left, y + 56), "inside", "start", "quiet")
        sketch.words((left + wide, y + 56), "outside", "end", "quiet")
    sketch.arrow((72, y - 10), (116, y - 10))
    sketch.words((92, y - 20), "water runs out", look="blue")
    sketch.arrow((268, y - 10), (224, y - 10))
    sketch.words((248, y - 20), "out: it runs in", look="red")
    sketch.words((170, 160), "usually low at the inside" if sides.get("sill_tilt", 0) < 0 else "sill, cut across",
                 look="blue" if sides.get("sill_tilt", 0) < 0 else "quiet")  # fmt: skip


def _plumb(sketch: Sketch, number: str, _: str, sides: Sides) -> None:
    """Both jambs, each within a fan that opens upwards; the lower words say which plane."""
    foot, top, plane = 142, 44, _plane(sides)
    sketch.line((92, foot), (248, foot), "thin")
    for jamb, x in (("left_jamb", 92), ("right_jamb", 248)):
        side = sides.get(f"{plane} {jamb}", 0)
        for way in (-1, 1):
            edge = x + way * FAN
            sketch.shape([(x, foot), (edge, top), (edge + way * BAND, top), (x + way * 2, foot)], "beyond")
            sketch.line((x, foot), (edge, top), "limit")
        sketch.line((x, foot + 8), (x, top - 8), "chain")
        sketch.line((x, foot), (x + (side or 1) * FAN * 0.6, top), "member" if side or jamb == "left_jamb" else "thin")
        if side:
            sketch.arrow((x, top - 4), (x + side * 30, top - 4))
    sketch.dimension((92, top + 14), (92 + FAN * (foot - top - 14) / (foot - top), top + 14))
    sketch.words((170, top + 18), number, look="red")
    ends = ("inside", "outside") if plane == "jamb_face" else ("left", "right")
    sketch.words((36, foot), ends[0], "middle", "quiet")
    sketch.words((306, foot), ends[1], "middle", "quiet")
    is_told = any(sides.values())
    words = "usually leans this way" if is_told else "both jambs, in the plane and across"
    sketch.words((170, 160), words, look="blue" if is_told else "quiet")


def _plane(sides: Sides) -> str:
    """The plane to draw: across the door where only there a side is usual."""
    told = [place.split()[0] for place, side in sides.items() if side and place.startswith("jamb_")]
    return "jamb_face" if told and "jamb_edge" not in told else "jamb_edge"


def _twist(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    """Strings crossed corner to corner, and what is seen where they cross."""
    sketch.box(28, 44, 150, 96, "member")
    sketch.line((28, 44), (178, 140), "string")
    sketch.line((28, 140), (178, 44), "string")
    sketch.ring(103, 92, 12)
    sketch.line((115, 88), (214, 74), "thin")
    x, y = 262, 92
    sketch.ring(x, y, 48, "mark paper")
    sketch.line((x - 44, y - 12), (x + 44, y - 12), "string")
    sketch.line((x - 44, y + 6), (x + 44, y + 6), "string")
    sketch.line((x - 40, y + 20), (x + 40, y + 20), "limit")
    sketch.shape([(x - 40, y + 20), (x + 40, y + 20), (x + 30, y + 34), (x - 30, y + 34)], "beyond")
    sketch.dimension((x - 14, y - 12), (x - 14, y + 20))
    sketch.words((x + 14, y), number and "half", look="red")
    sketch.words((103, 160), "two strings, crossed", look="quiet")
    sketch.words((x, 160), "half the twist", look="quiet")


def _square(sketch: Sketch, number: str, _: str, sides: Sides) -> None:
    """Two diagonals as dimensions of a frame that leans, and their difference on a scale."""
    lean = -14 if sides.get("frame_diagonal", 0) < 0 else 14
    foot, top = 142, 52
    corners = [(40, foot), (170, foot), (170 + lean, top), (40 + lean, top)]
    sketch.shape([(40, foot), (170, foot), (170, top), (40, top)], "chain")
    sketch.shape(corners, "member")
    sketch.dimension(corners[0], corners[2])
    sketch.dimension(corners[1], corners[3])
    _difference(sketch, 214, 112, ("longer", "shorter"), number)
    if sides.get("frame_diagonal", 0):
        sketch.words((112, 160), "its top usually stands this way", look="blue")
        sketch.arrow((105, top - 8), (105 + 2 * lean, top - 8))


def _difference(sketch: Sketch, left: float, y: float, names: tuple[str, str], number: str) -> None:
    """Two bars, and the limit of how much the longer may reach beyond the shorter."""
    for row, (name, length) in enumerate(zip(names, (84, 62), strict=True)):
        at = y - 30 + 24 * row
        sketch.line((left, at), (left + length, at), "member")
        sketch.words((left, at - 6), name, "start", "quiet")
    sketch.line((left + 62, y - 44), (left + 62, y + 16), "chain")
    sketch.line((left + 94, y - 44), (left + 94, y + 16), "limit")
    sketch.box(left + 94, y - 44, BAND, 60, "beyond")
    sketch.dimension((left + 62, y + 12), (left + 94, y + 12))
    sketch.words((left + 78, y + 30), number, look="red")


def _parallel(sketch: Sketch, number: str, _: str, sides: Sides) -> None:
    """Clear heights under a head that falls to one side."""
    foot, side = 140, sides.get("clear_height", 0) or 1
    left, right = (66, 52) if side > 0 else (52, 66)
    sketch.line((36, foot), (204, foot), "member")
    sketch.line((36, left), (204, right), "member")
    for place in range(5):
        x = 48 + 36 * place
        sketch.dimension((x, foot), (x, left + (right - left) * (x - 36) / 168))
    _difference(sketch, 226, 112, ("largest", "smallest"), number)
    sketch.words((120, 160), "head to sill, five places", look="quiet")
    if sides.get("clear_height", 0):
        sketch.words((204 if side > 0 else 36, 44), "usually higher", "end" if side > 0 else "start", "blue")


def _widths(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    _spans(sketch, number, is_upright=False)


def _heights(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    _spans(sketch, number, is_upright=True)


def _spans(sketch: Sketch, number: str, is_upright: bool) -> None:
    """Three readings across an opening."""
    sketch.shape([(40, 142), (176, 142), (168, 50), (40, 46)], "member")
    for place in (0.15, 0.5, 0.85):
        if is_upright:
            x = 40 + 136 * place - 4
            sketch.dimension((x, 142), (x, 46 + 4 * place))
        else:
            y = 142 - 94 * place
            sketch.dimension((40, y), (176 - 8 * place, y))
    _difference(sketch, 214, 112, ("largest", "smallest"), number)


def _fixings(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    """Fixings along a member, one gap too wide."""
    y = 96
    sketch.box(30, y - 7, 280, 14, "member paper")
    for x in (52, 118, 184, 288):
        sketch.line((x, y - 15), (x, y + 15), "fixing")
    sketch.dimension((118, y + 32), (184, y + 32))
    sketch.line((270, y - 26), (270, y + 38), "limit")
    sketch.box(270, y + 8, 18, 22, "beyond")
    sketch.dimension((184, y - 30), (270, y - 30))
    sketch.words((227, y - 36), number, look="red")
    sketch.words((151, y + 54), "one fixing to the next", look="quiet")


def _corner(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    """The first fixing and its distance from the corner."""
    sketch.shape([(90, 44), (104, 44), (104, 128), (300, 128), (300, 142), (90, 142)], "member paper")
    sketch.box(105, 96, 65, 30, "beyond")
    sketch.line((170, 84), (170, 154), "limit")
    sketch.line((206, 120), (206, 150), "fixing")
    sketch.dimension((90, 84), (170, 84))
    sketch.words((138, 78), number, look="red")
    sketch.words((200, 114), "first fixing past the line", "start", "quiet")


def _packers(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    """A fixing between two packers, and one whose tightening pulls the member."""
    for left, is_packed in ((34, True), (196, False)):
        sketch.box(left, 46, 110, 26, "wall")
        if is_packed:
            for x in (left + 22, left + 72):
                sketch.box(x, 72, 16, 20, "solid")
            sketch.box(left, 92, 110, 14, "member paper")
        else:
            sketch.box(left, 72, 110, 20, "beyond")
            sketch.curve((left, 98), (left + 55, 72), (left + 110, 98))
        sketch.line((left + 55, 54), (left + 55, 118), "fixing")
        sketch.words((left + 55, 138), "packed both sides" if is_packed else "out: the member bends", look="quiet")


def _gap_round(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    """A frame in its wall and the gap all round."""
    sketch.box(70, 38, 200, 116, "wall")
    sketch.box(86, 54, 168, 84, "thin paper")
    sketch.box(98, 66, 144, 60, "member paper")
    for start, end in (((86, 96), (98, 96)), ((242, 96), (254, 96)), ((170, 54), (170, 66)), ((170, 126), (170, 138))):
        sketch.dimension(start, end)
    sketch.words((170, 101), "frame", look="quiet")


def _place(sketch: Sketch, number: str, place: str, _: Sides) -> None:
    """A door from inside with rings where to look."""
    left, right, top, foot = 70, 270, 44, 136
    sketch.box(left, top, right - left, foot - top, "member")
    for leaf in range(4):
        sketch.box(left + 5 + 48 * leaf, top + 5, 46, foot - top - 12, "thin")
    middle, half = (left + right) / 2, (top + foot) / 2
    rings: dict[str, list[Point]] = {
        "sill": [(left + 40, foot), (middle, foot), (right - 40, foot)],
        "sill ends": [(left, foot), (right, foot)],
        "track": [(left + 56, foot - 4), (middle + 4, foot - 4), (right - 52, foot - 4)],
        "head": [(left + 40, top), (middle, top), (right - 40, top)],
        "jambs": [(left, top + 18), (left, foot - 18), (right, top + 18), (right, foot - 18)],
        "hinges": [(left + 4, top + 20), (left + 4, half), (left + 4, foot - 20)],
        "round": [(left, half), (right, half), (middle, top), (middle, foot)],
        "leaves": [(left + 28 + 48 * leaf, half) for leaf in range(4)],
    }
    for x, y in rings.get(place, rings["round"]):
        sketch.ring(x, y, 11)
    sketch.words((middle, 160), "look at every ring; seen from inside", look="quiet")


DOOR_PICTURES = {
    "level": _level, "bow": _bow, "tilt": _tilt, "plumb": _plumb, "twist": _twist, "square": _square,
    "parallel": _parallel, "widths": _widths, "heights": _heights, "fixings": _fixings, "corner": _corner,
    "packers": _packers, "gap round": _gap_round, "place": _place,
}  # fmt: skip
