"""The door as seen from inside, to scale, with its fixings and the stations of its sill. SVG, no script."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from markupsafe import Markup, escape

from pipeline.report.drawing.drawn import NARROW, WIDE, Drawing, named_svg
from pipeline.sheets.door import Door
from pipeline.sheets.fixings import MemberPlan

MARGIN, LABEL, TALLEST = 50, 10, 420
BELOW = 58  # pixels from the foot of the door to the stations of the sill
TITLE = "The door seen from inside, with its fixings and the stations of the sill"


@dataclass(frozen=True)
class _Frame:
    """Where the door stands on the paper. scale: pixels a mm."""

    door: Door
    width: int
    scale: float

    @property
    def right(self) -> float:
        return MARGIN + self.door.width * self.scale

    @property
    def top(self) -> float:
        return MARGIN

    @property
    def foot(self) -> float:
        return MARGIN + self.door.height * self.scale

    def x(self, at: float) -> float:
        return MARGIN + at * self.scale

    def y(self, at: float) -> float:
        return self.foot - at * self.scale


def draw_door(door: Door, plans: tuple[MemberPlan, ...], stations: tuple[int, ...]) -> Drawing:
    """The drawing for a desk or paper, and for a phone. stations: on the sill, mm from the left."""
    return Drawing(*(_svg(door, plans, stations, width) for width in (WIDE, NARROW)))


def _svg(door: Door, plans: tuple[MemberPlan, ...], stations: tuple[int, ...], width: int) -> Markup:
    scale = min((width - 2 * MARGIN) / door.width, TALLEST / door.height)
    frame = _Frame(door, width, scale)
    height = round(frame.foot + 2 * BELOW - 10)
    parts = [*_outline(frame), *(part for plan in plans for part in _member(frame, plan)), *_stations(frame, stations)]
    said = f"{door.leaves} leaves, {door.width} by {door.height} mm; " + "; ".join(
        f"{plan.member.replace('_', ' ')} fixed at {', '.join(map(str, plan.positions))} mm" for plan in plans
    )
    return named_svg("".join(parts), f"door-{width}", (width, height), (TITLE, said), look="door")


def _outline(frame: _Frame) -> Iterator[str]:
    door = frame.door
    yield _rect(frame.x(0), frame.top, door.width * frame.scale, door.height * frame.scale, "frame")
    for at in door.joints:
        yield _line(frame.x(at), frame.top, frame.x(at), frame.foot, "joint")
    for number in range(1, door.leaves + 1):
        middle = frame.x(door.width * (number - 0.5) / door.leaves)
        words = f"leaf {number}" if door.leaves < 6 else str(number)
        yield _text(middle, (frame.top + frame.foot) / 2, words, "middle")


def _member(frame: _Frame, plan: MemberPlan) -> Iterator[str]:
    is_upright = plan.member.endswith("jamb")
    labels = _labels(frame, plan.positions)
    for at, label in zip(plan.positions, labels, strict=True):
        yield from _upright_fixing(frame, plan, at, label) if is_upright else _lying_fixing(frame, plan, at, label)


def _upright_fixing(frame: _Frame, plan: MemberPlan, at: int, label: str) -> Iterator[str]:
    outwards = -1 if plan.member == "left_jamb" else 1
    edge = frame.x(0) if outwards < 0 else frame.right
    yield _line(edge - 7 * outwards, frame.y(at), edge + 10 * outwards, frame.y(at), "fixing")
    yield _text(edge + 15 * outwards, frame.y(at) + 4, label, "end" if outwards < 0 else "start")


def _lying_fixing(frame: _Frame, plan: MemberPlan, at: int, label: str) -> Iterator[str]:
    upwards = -1 if plan.member == "head" else 1
    edge = frame.top if upwards < 0 else frame.foot
    yield _line(frame.x(at), edge - 7 * upwards, frame.x(at), edge + 10 * upwards, "fixing")
    yield _turned(frame.x(at) + 4, edge + 15 * upwards, label, "start" if upwards < 0 else "end")


def _stations(frame: _Frame, stations: tuple[int, ...]) -> Iterator[str]:
    """Stations of the sill under its fixings: small triangles on a datum, their distances turned."""
    level = frame.foot + BELOW
    yield _line(frame.x(0), level, frame.right, level, "datum")
    for at, label in zip(stations, _labels(frame, stations), strict=True):
        x = frame.x(at)
        yield f'<path class="station" d="M{x:.1f},{level:.1f}l-4,-7h8z"/>'
        yield _turned(x + 4, level + 6, label, "end")


def _labels(frame: _Frame, positions: tuple[int, ...]) -> list[str]:
    """The numbers that have room beside one another, the last one always; empty for the others."""
    nearest = min(b - a for a, b in pairwise(positions)) * frame.scale
    every, last = max(1, -int(-(LABEL + 3) // nearest)), len(positions) - 1
    shown = {number for number in range(0, last + 1, every) if number == 0 or last - number >= every} | {last}
    return [str(at) if number in shown else "" for number, at in enumerate(positions)]


def _line(x1: float, y1: float, x2: float, y2: float, name: str) -> str:
    return f'<line class="{name}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _rect(x: float, y: float, width: float, height: float, name: str) -> str:
    return f'<rect class="{name}" x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"/>'


def _text(x: float, y: float, words: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def _turned(x: float, y: float, words: str, anchor: str) -> str:
    turn = f"rotate(-90 {x:.1f} {y:.1f})"
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" transform="{turn}">{escape(words)}</text>'
