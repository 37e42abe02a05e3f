"""Both jambs seen from the side, across the door: how far each leans in or out, and the twist between them."""

from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.door.drawings import pen
from pipeline.door.drawings.elevation import free_side, signed, wedge
from pipeline.door.drawings.frame import JAMBS
from pipeline.door.geometry import Points, fitted_line
from pipeline.door.limits import Judged, figure
from pipeline.report.drawing.pencils import GREY, INK


@dataclass(frozen=True)
class Side:
    """The two jambs on a plumb line. at: px of the line; foot: px; scale: px a mm of height; error: px a mm of lean."""

    jambs: dict[str, Points]
    judged: dict[str, Judged]
    at: float
    foot: float
    height: float
    scale: float
    error: float

    def x(self, error: float) -> float:
        """Lean to the outside goes to the right."""
        return self.at + error * self.error

    def y(self, at: float) -> float:
        """Up the jamb."""
        return self.foot - at * self.scale


def draw_side(side: Side) -> str:
    """The side view as SVG."""
    top = side.y(side.height)
    parts = [pen.line((side.at, side.foot + 8), (side.at, top - 8), GREY, dash="chain")]
    parts += [
        pen.words((side.at - 8, side.foot + 22), "inside", GREY, "end"),
        pen.words((side.at + 8, side.foot + 22), "outside", GREY, "start"),
    ]
    return "".join([*parts, *_limits(side), *_leans(side), *_twist(side, top)])


def _limits(side: Side) -> Iterator[str]:
    judged = side.judged.get("jamb_plumb_error")
    lines = [line for points in side.jambs.values() if (line := fitted_line(points))]
    if judged is None or not lines:
        return
    worst = max(lines, key=lambda line: abs(line.rise))
    yield from wedge(
        judged, worst, side.error,
        lambda at, error: (side.x(error - worst.at_start), side.y(at)), free_side,
    )  # fmt: skip


def _leans(side: Side) -> Iterator[str]:
    judged = side.judged.get("jamb_plumb_error")
    for row, jamb in enumerate(JAMBS):
        points = side.jambs[jamb]
        line = fitted_line(points)
        if not points:
            continue
        pencil = pen.DECISION.get(judged.of(abs(line.rise)), INK) if judged and line else INK
        yield pen.path([(side.x(value), side.y(at)) for at, value in points], pencil, pen.THICK)
        name, value = jamb.removesuffix("_jamb"), points[-1][1]
        lean = f"{name} {signed(value)}"
        # beside its middle, the two on two lines
        yield pen.words((side.x(value / 2) + (10 if value >= 0 else -10), side.y(side.height * (0.42 - 0.14 * row))),
                        lean, pencil, "start" if value >= 0 else "end")  # fmt: skip


def _twist(side: Side, top: float) -> Iterator[str]:
    judged = side.judged.get("jamb_twist")
    ends = [side.jambs[jamb][-1][1] for jamb in JAMBS if side.jambs[jamb]]
    if judged is None or len(ends) < 2:
        return
    pencil = pen.DECISION.get(judged.decision, INK)
    low, high = side.x(min(ends)), side.x(max(ends))
    yield pen.dimension((low, top - 26), (high, top - 26), f"twist {figure(judged.value)}", pencil)
