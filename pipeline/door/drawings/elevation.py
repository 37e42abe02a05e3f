"""The frame as it was read: the door from inside, to scale, its errors exaggerated, held against its limits.

The size the door was ordered in is a chain line; what was read is drawn over it, thick. A member that was not read has
its chain line alone.
"""

from collections.abc import Callable, Iterator

from pipeline.door.drawings import pen
from pipeline.door.drawings.frame import BESIDE, JAMBS, Frame, from_first
from pipeline.door.drawings.pen import Point
from pipeline.door.drawings.scale import MOST_ERROR, factor_of
from pipeline.door.geometry import Line, Points, fitted_line
from pipeline.door.limits import Judged, figure, gravest
from pipeline.report.drawing.lettering import width as lettering_width
from pipeline.report.drawing.pencils import BLUE, GREY, INK, RED
from pipeline.report.numbers import number, plain

LABELS = 18  # px from a member to its numbers


def draw_frame(frame: Frame) -> tuple[str, float]:
    """The elevation, and the px down to its foot with all its numbers."""
    parts = [*_ordered(frame), *_diagonals(frame), *_leaves(frame), *_limits(frame)]
    parts += [*_sill(frame), *_head(frame), *_jambs(frame), *_racked(frame)]
    foot = frame.foot + max(0.0, -_lowest(frame)) * frame.error
    below, foot = _below(frame, foot)
    return "".join([*parts, *below]), foot


def _lowest(frame: Frame) -> float:
    """The lowest that is drawn of the sill, its readings and the limits under it; mm over the left-hand reading."""
    heights = [value for _, value in frame.sill]
    level, line = frame.judged.get("sill_level_error"), fitted_line(frame.sill)
    if level and line and level.upper is not None:
        heights.append(line.at_start - level.upper)
    return min(heights, default=0.0)


def _ordered(frame: Frame) -> Iterator[str]:
    corners = [
        (frame.x(0), frame.y(0)), (frame.x(frame.width), frame.y(0)), (frame.x(frame.width), frame.top),
        (frame.x(0), frame.top), (frame.x(0), frame.y(0)),
    ]  # fmt: skip
    yield pen.path(corners, GREY, dash="chain")


def _leaves(frame: Frame) -> Iterator[str]:
    if not frame.leaves:
        return
    each = frame.width / frame.leaves
    is_roomy = each * frame.scale > lettering_width("leaf 10")
    for joint in range(1, frame.leaves):
        at = each * joint
        yield pen.line((frame.x(at), frame.y(0, frame.lift(at))), (frame.x(at), frame.top), GREY)
    for leaf in range(1, frame.leaves + 1):
        middle = (frame.x(each * (leaf - 0.5)), frame.y(frame.height / 2) + 4)
        yield pen.words(middle, f"leaf {leaf}" if is_roomy else str(leaf), GREY)


def _diagonals(frame: Frame) -> Iterator[str]:
    rising, falling = frame.diagonals
    decision = gravest(frame.judged, "frame_diagonal_difference", "frame_racking")
    longest = max((size for size in frame.diagonals if size is not None), default=None)
    for size, low, high in ((rising, 0.0, frame.width), (falling, frame.width, 0.0)):
        if size is None:
            continue
        pencil = pen.DECISION.get(decision, GREY) if size == longest and rising != falling else GREY
        yield pen.line((frame.x(low), frame.y(0)), (frame.x(high), frame.top), pencil)
        across = frame.width * frame.scale
        said = f"{plain(size, 6)} diagonal"
        if across < 2.6 * lettering_width(said):  # of a narrow door the bare number, so that no jamb runs through it
            said = plain(size, 6)
        is_tight = across < 2 * lettering_width(said)
        part = 0.36 if low and is_tight else 0.2  # of a very narrow one, one number over the other
        at = (frame.x(low + (high - low) * part), frame.y(frame.height * part) + 4)
        yield pen.words(at, said, pencil)


def _limits(frame: Frame) -> Iterator[str]:
    if (judged := frame.judged.get("sill_level_error")) and (line := fitted_line(frame.sill)):
        yield from wedge(judged, line, frame.error, lambda at, error: (frame.x(at), frame.y(0, error)), _upper_end)
        yield pen.path([(frame.x(at), frame.y(0, line.value(at))) for at in (line.start, line.end)], INK)
    is_labelled = False
    for jamb, points in frame.jambs.items():
        if (judged := frame.judged.get("jamb_plumb_error")) and (line := fitted_line(points)):
            edge = frame.edge(jamb)

            def place(at: float, error: float, edge: float = edge) -> Point:
                return frame.x(edge, error), frame.y(at)

            yield from wedge(judged, line, frame.error, place, None if is_labelled else free_side)
            is_labelled = True
    yield from _head_limit(frame)
    yield from _bow_limit(frame)


def _upper_end(one: Point, other: Point, _: bool) -> tuple[Point, str]:
    """Beside the upper limit of the sill: under the lower one stand the numbers."""
    return (one[0] + 6, min(one[1], other[1]) + 4), "start"


def wedge(
    judged: Judged,
    line: Line,
    error: float,
    place: Callable[[float, float], Point],
    label: Callable[[Point, Point, bool], tuple[Point, str]] | None,
) -> Iterator[str]:
    """The limits of a lean: two red chain lines from its foot, hatched beyond on the side it leans to.

    error  px a mm of error; place: (mm along, mm of error) → px; label: both ends of the limits, that of the positive
    side first, and whether it leans there → where the number is; None: no number
    """
    if judged.upper is None:
        return
    side = 1.0 if line.rise >= 0 else -1.0
    start, decision = place(line.start, line.at_start), judged.of(abs(line.rise))

    def end(size: float) -> Point:
        return place(line.end, line.at_start + side * size)

    beyond = max(abs(line.rise), judged.upper) + 8 / error
    if decision == "undecided":
        yield pen.hatched([start, end(judged.upper - judged.guard), end(judged.upper + judged.guard)], "undecided")
    near = judged.upper + (judged.guard if decision == "undecided" else 0.0)
    if near < beyond:
        yield pen.hatched([start, end(near), end(beyond)], "out")
    for sign in (1, -1):
        yield pen.line(start, end(sign * judged.upper), RED, dash="chain")
    if label is None:
        return
    at, anchor = label(end(side * judged.upper), end(-side * judged.upper), side > 0)
    number_of, most = figure(judged.upper), BESIDE - 8
    said = f"limit {number_of}"
    yield pen.words(at, said if lettering_width(said) <= most else number_of, RED, anchor)


def free_side(right: Point, left: Point, is_to_right: bool) -> tuple[Point, str]:
    """Over the limit of a lean on the side to which it does not lean, where nothing crosses the number."""
    x, y = left if is_to_right else right
    return (x, y - 6), "middle"


def _head_limit(frame: Frame) -> Iterator[str]:
    judged = frame.judged.get("head_parallel_error")
    if judged is None or judged.upper is None or len(frame.head) < 2:
        return
    lowest = max(value for _, value in frame.head) - judged.upper
    places = [at for at, _ in frame.head]
    edge = [(frame.x(at), frame.y(frame.height, frame.lift(at) + lowest)) for at in places]
    under = [(x, y + 8) for x, y in reversed(edge)]
    if judged.decision != "within":
        yield pen.hatched([*edge, *under], judged.decision)
    yield pen.path(edge, RED, dash="chain")


def _bow_limit(frame: Frame) -> Iterator[str]:
    """Where the sill's bow is not within: lines at its limit on both sides of the line through its readings."""
    judged, line = frame.judged.get("sill_bow"), fitted_line(frame.sill)
    if judged is None or judged.upper is None or line is None or judged.decision == "within":
        return
    for side in (1.0, -1.0):
        edge = [(frame.x(at), frame.y(0, line.value(at) + side * judged.upper)) for at in (line.start, line.end)]
        beyond = [(x, y - side * 8) for x, y in reversed(edge)]
        yield pen.hatched([*edge, *beyond], judged.decision)
        yield pen.path(edge, RED, dash="chain")


def _sill(frame: Frame) -> Iterator[str]:
    if not frame.sill:
        return
    pencil = pen.DECISION.get(gravest(frame.judged, "sill_level_error", "sill_bow"), INK)
    points = [(frame.x(at), frame.y(0, value)) for at, value in frame.sill]
    yield pen.path(points, pencil, pen.THICK)
    for x, y in points:
        yield pen.filled([(x, y), (x - 4, y + 7), (x + 4, y + 7)], pencil)


def _head(frame: Frame) -> Iterator[str]:
    if not frame.head:
        return
    pencil = pen.DECISION.get(gravest(frame.judged, "head_parallel_error"), INK)
    points = [(frame.x(at), frame.y(frame.height, frame.lift(at) + value)) for at, value in frame.head]
    yield pen.path(points, pencil, pen.THICK)
    for x, text in pen.in_a_row(_labels(frame, frame.head)):
        yield pen.words((x, LABELS - 4), text, pencil)


def _jambs(frame: Frame) -> Iterator[str]:
    for jamb, points in frame.jambs.items():
        line, judged = fitted_line(points), frame.judged.get("jamb_plumb_error")
        if not points:
            continue
        pencil = pen.DECISION.get(judged.of(abs(line.rise)), INK) if judged and line else INK
        edge = frame.edge(jamb)
        lifted = frame.lift(edge)
        yield pen.path([(frame.x(edge, value), frame.y(at, lifted)) for at, value in points], pencil, pen.THICK)
        anchor, beside = ("end", -10.0) if jamb == JAMBS[0] else ("start", 10.0)
        outermost = (min if beside < 0 else max)(frame.x(edge, value) for _, value in points)
        for (at, _), text in zip(points[1:], _texts(points)[1:], strict=True):
            yield pen.words((outermost + beside, frame.y(at) + 12), text, pencil, anchor)


def _racked(frame: Frame) -> Iterator[str]:
    """Both jambs as the diagonals alone let them stand: broken, since no jamb was read."""
    if frame.racked is None or abs(frame.racked) > MOST_ERROR:
        return
    judged = frame.judged.get("frame_racking") or frame.judged.get("frame_diagonal_difference")
    pencil = pen.DECISION.get(judged.decision, BLUE) if judged else BLUE
    for edge in (0.0, frame.width):
        ends = [(frame.x(edge), frame.y(0)), (frame.x(edge, frame.racked), frame.top)]
        yield pen.path(ends, pencil, pen.THICK, "broken")


def _below(frame: Frame, foot: float) -> tuple[list[str], float]:
    """The numbers under the door: heights of the sill, its fall across, the width."""
    parts: list[str] = []
    if frame.sill:
        foot += LABELS + 4
        parts += [pen.words((x, foot), text) for x, text in pen.in_a_row(_labels(frame, frame.sill))]
    if tilts := frame.read.line("sill_tilt"):
        foot += LABELS
        pencil = pen.DECISION.get(gravest(frame.judged, "sill_tilt_in"), INK)
        for x, text in pen.in_a_row((frame.x(at), _fall(value), abs(value)) for at, value in tilts):
            parts.append(pen.words((x, foot), text, pencil if text.endswith("in") else INK))
    if line := from_first(frame.read.line("sill_line")):
        foot += 2 * LABELS + frame.room / 2
        parts += _from_above(frame, line, foot)
        foot += LABELS
    foot += LABELS + 12
    ends = (frame.x(0), foot), (frame.x(frame.width), foot)
    parts.append(pen.dimension(*ends, f"{number(frame.width)} mm"))
    return parts, foot + 8


def _from_above(frame: Frame, points: Points, y: float) -> Iterator[str]:
    """The sill in plan against its string line, outside up."""
    pencil = pen.DECISION.get(gravest(frame.judged, "sill_line_bow"), INK)
    error = frame.scale * factor_of(max(abs(value) for _, value in points), frame.scale, frame.room / 2)
    yield pen.line((frame.x(points[0][0]), y), (frame.x(points[-1][0]), y), GREY, dash="chain")
    yield pen.path([(frame.x(at), y - value * min(error, frame.error)) for at, value in points], pencil, pen.THICK)
    yield pen.words((frame.x(0), y - frame.room / 2 - 4), "from above", GREY, "start")
    for x, text in pen.in_a_row(_labels(frame, points)):
        yield pen.words((x, y + LABELS), text, pencil)


def _fall(value: float) -> str:
    return f"{signed(abs(value)).lstrip('+')} {'in' if value < 0 else 'out'}" if value else "level"


def _labels(frame: Frame, points: Points) -> list[tuple[float, str, float]]:
    """Where each number stands and how much it matters: the ends and the largest first."""
    ends = {points[0][0], points[-1][0]}
    texts = _texts(points)
    return [
        (frame.x(at), text, 1e6 if at in ends else abs(value)) for (at, value), text in zip(points, texts, strict=True)
    ]


def _texts(points: Points) -> list[str]:
    return [signed(value) for _, value in points]


def signed(value: float) -> str:
    """A difference of readings with its sign, to a tenth; 0 without one."""
    shown = number(value, 1).removesuffix(".0")
    return f"+{shown}" if not shown.startswith("−") and shown != "0" else shown
