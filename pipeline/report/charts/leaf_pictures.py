"""Pictures of limits on a leaf: gaps, drop by turning or by racking, packs of the glass, packers behind a hinge."""

from pipeline.report.charts.sketch import Sketch

Sides = dict[str, int]
LEFT, TOP, WIDE, TALL = 92, 42, 78, 84  # of the place that a leaf hangs in
DROP = 16  # pixels


def _rotation(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    """A leaf turned at its hinges: its lock stile leans and hangs low."""
    _place_of(sketch)
    right, foot, tilt = LEFT + WIDE, TOP + TALL, 9
    corners = [(LEFT, TOP), (right, TOP + DROP), (right - tilt, foot + DROP), (LEFT - tilt, foot)]
    sketch.shape(corners, "member paper")
    sketch.words((LEFT + WIDE / 2, 162), "turned at the hinges", look="quiet")
    _low_corner(sketch, number)


def _racking(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    """A leaf out of square: its stiles still plumb, its lock stile low."""
    _place_of(sketch)
    right, foot = LEFT + WIDE, TOP + TALL
    corners = [(LEFT, TOP), (right, TOP + DROP), (right, foot + DROP), (LEFT, foot)]
    sketch.shape(corners, "member paper")
    sketch.words((LEFT + WIDE / 2, 162), "racked: stiles plumb, rails not", look="quiet")
    _low_corner(sketch, number)


def _place_of(sketch: Sketch) -> None:
    sketch.box(LEFT, TOP, WIDE, TALL, "chain")
    for y in (TOP + 16, TOP + TALL / 2, TOP + TALL - 16):
        sketch.box(LEFT - 8, y - 5, 8, 10, "solid")
    sketch.words((LEFT - 14, TOP + TALL / 2 + 4), "hinges", "end", "quiet")


def _low_corner(sketch: Sketch, number: str) -> None:
    """How low the lock stile may hang, over the leaf's top corner."""
    x, y = LEFT + WIDE, TOP
    sketch.line((x, y), (x + 96, y), "thin")
    sketch.line((x + 10, y + 26), (x + 96, y + 26), "limit")
    sketch.box(x + 14, y + 26, 78, 13, "beyond")
    sketch.dimension((x + 70, y), (x + 70, y + 26))
    sketch.words((x + 100, y + 30), number, "start", "red")
    sketch.line((x, y + DROP), (x + 40, y + DROP), "thin")
    sketch.words((x + 16, y + 62), "lock side", "start", "quiet")


def _gaps(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    """A leaf in its place, the gaps round it as dimensions, the widest on a scale."""
    sketch.box(46, 44, 116, 104, "member")
    sketch.shape([(58, 58), (150, 66), (148, 138), (56, 132)], "thin paper")
    for start, end in (((64, 44), (64, 58)), ((144, 44), (144, 65)), ((64, 133), (64, 148)), ((142, 138), (142, 148))):
        sketch.dimension(start, end)
    for start, end in (((46, 72), (58, 72)), ((46, 122), (56, 122))):
        sketch.dimension(start, end)
    x, y = 206, 96
    sketch.line((x, y), (x + 112, y), "member")
    sketch.line((x + 62, y - 32), (x + 62, y + 20), "limit")
    sketch.box(x + 62, y - 26, 50, 26, "beyond")
    sketch.dimension((x, y + 14), (x + 62, y + 14))
    sketch.words((x + 31, y + 32), number, look="red")
    sketch.words((x, y - 40), "largest less smallest", "start", "quiet")


def _toe_and_heel(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    """Two leaves: packed on the bracing diagonal, and on the wrong one."""
    for left, is_right in ((50, True), (206, False)):
        if not is_right:
            sketch.box(left - 8, 38, 100, 106, "beyond")
        sketch.box(left, 44, 84, 94, "member paper")
        sketch.box(left + 9, 53, 66, 76, "thin")
        for y in (58, 91, 124):
            sketch.box(left - 7, y - 5, 7, 10, "solid")
        ends = ((left + 12, 126), (left + 72, 56)) if is_right else ((left + 72, 126), (left + 12, 56))
        sketch.line(*ends, "string")
        for x, y in ends:
            sketch.box(x - 9, y + 3 if y > 91 else y - 9, 18, 6, "solid")
        words = "bottom hinge to top lock" if is_right else "out: no brace"
        sketch.words((left + 42, 160), words, look="quiet")


def _packer_count(sketch: Sketch, number: str, _: str, __: Sides) -> None:
    """Packers stacked between jamb and hinge."""
    sketch.box(60, 48, 40, 92, "wall")
    for packer in range(4):
        sketch.box(102 + 13 * packer, 66, 11, 56, "paper thin")
    sketch.line((156, 40), (156, 148), "limit")
    sketch.box(156, 52, 44, 84, "beyond")
    sketch.box(206, 60, 16, 68, "solid")
    sketch.words((80, 160), "jamb", look="quiet")
    sketch.words((128, 160), "packers", look="quiet")
    sketch.words((214, 160), "hinge", look="quiet")
    sketch.words((162, 46), number, "start", "red")


LEAF_PICTURES = {
    "rotation": _rotation, "racking": _racking, "gaps": _gaps, "toe and heel": _toe_and_heel,
    "packer count": _packer_count,
}  # fmt: skip
