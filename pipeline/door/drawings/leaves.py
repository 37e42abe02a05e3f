"""The leaves and the gaps round them: each leaf to scale in its place, the gaps exaggerated, the frame drawn straight.

Which stile is hinged is not in the records: every leaf is drawn hinged at its left, and the page says so.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import ceil

from pipeline.door.drawings import pen
from pipeline.door.drawings.pen import Point
from pipeline.door.drawings.scale import factor_of
from pipeline.door.leaves import Leaf
from pipeline.door.limits import Judged, figure, gravest
from pipeline.report.drawing.lettering import fitted, width
from pipeline.report.drawing.pencils import GREY, INK, RED
from pipeline.report.numbers import number

NUMBERS = 20  # px over and under a leaf for the numbers of its gaps
ROOM = 22  # px that the largest gap may take
LARGEST = 60.0  # mm: a gap beyond it is told, not drawn
ROOMY = 96  # px: in which words under a leaf have room
STEP = 17  # px from one line of words to the next
CELL = 62  # px: the least width in which the numbers of a leaf have room


@dataclass(frozen=True)
class Row:
    """Leaves beside each other. left, top: px to the first; scale: px a mm; error: px a mm of gap; size in mm."""

    leaves: tuple[Leaf, ...]
    judged: dict[str, Judged]
    lowest: Leaf | None
    left: float
    top: float
    scale: float
    error: float
    width: float
    height: float

    @property
    def foot(self) -> float:
        """px to the sill."""
        return self.top + self.height * self.scale

    @property
    def cell(self) -> float:
        """px a leaf."""
        return self.width * self.scale


def draw_leaves(
    leaves: tuple[Leaf, ...], judged: dict[str, Judged], lowest: Leaf | None, size: tuple[float, float], room: Point
) -> tuple[str, float, int]:
    """The leaves as SVG, the px down to their foot, and the factor of the gaps.

    size  a leaf's width and height, mm; room: px across, and px down for one row
    """
    rows = ceil(len(leaves) * CELL / room[0])
    each = ceil(len(leaves) / rows)
    scale = min(room[0] / (each * size[0]), room[1] / size[1])
    gaps = [gap for leaf in leaves for gap in vars(leaf.gaps).values() if gap is not None and gap <= LARGEST]
    factor = factor_of(max(gaps, default=1.0), scale, ROOM)
    parts, top = [], 0.0
    for first in range(0, len(leaves), each):
        some = leaves[first : first + each]
        row = Row(some, judged, lowest, 1.0, top + NUMBERS, scale, scale * factor, *size)
        parts += [_frame(row), *(part for place, leaf in enumerate(some) for part in _leaf(row, place, leaf))]
        top = row.foot + NUMBERS
        if row.cell >= ROOMY:
            below, top = _below(row, top)
            parts += below
        top += 14
    return "".join(parts), top - 14, factor


def _frame(row: Row) -> str:
    right = row.left + row.cell * len(row.leaves)
    uprights = [row.left + row.cell * number for number in range(len(row.leaves) + 1)]
    return "".join([
        pen.line((row.left, row.top), (right, row.top), INK, pen.THICK),
        pen.line((row.left, row.foot), (right, row.foot), INK, pen.THICK),
        *(pen.line((x, row.top), (x, row.foot), GREY) for x in uprights),
    ])  # fmt: skip


def _leaf(row: Row, place: int, leaf: Leaf) -> Iterator[str]:
    left = row.left + row.cell * place
    if leaf.is_read:
        yield from _limits(row, left, leaf)
        yield from _edges(row, left, leaf)
        yield from _numbers(row, left, leaf)
        yield from _squareness(row, left, leaf)
    middle = (left + row.cell / 2, (row.top + row.foot) / 2 + 4)
    yield pen.words(middle, str(leaf.number), INK if leaf.is_read else GREY, is_bold=leaf.is_read)


def _corners(row: Row, left: float, leaf: Leaf) -> dict[str, Point]:
    """px of its four corners; a gap that was not read is drawn as none."""
    gaps = leaf.gaps
    right = left + row.cell

    def px(gap: float | None) -> float:
        return (gap or 0.0) * row.error if gap is None or gap <= LARGEST else 0.0

    return {
        "over_hinge": (left + px(gaps.beside_top), row.top + px(gaps.over_hinge)),
        "over_lock": (right, row.top + px(gaps.over_lock)),
        "under_hinge": (left + px(gaps.beside_bottom), row.foot - px(gaps.under_hinge)),
        "under_lock": (right, row.foot - px(gaps.under_lock)),
    }


def _edges(row: Row, left: float, leaf: Leaf) -> Iterator[str]:
    """Edges whose both gaps were read, as read."""
    at, gaps = _corners(row, left, leaf), leaf.gaps
    edges = (
        ("over_hinge", "over_lock", gaps.taper_over), ("under_hinge", "under_lock", gaps.taper_under),
        ("over_hinge", "under_hinge", gaps.taper_beside),
    )  # fmt: skip
    for one, other, taper in edges:
        if taper is not None:
            pencil = pen.DECISION.get(_decision(row, one, taper), INK)
            yield pen.line(at[one], at[other], pencil, pen.THICK)


def _decision(row: Row, edge: str, taper: float) -> str:
    judged = row.judged.get("gap_taper") if edge == "under_hinge" else None
    return judged.of(abs(taper)) if judged else "within"


def _limits(row: Row, left: float, leaf: Leaf) -> Iterator[str]:
    """Under a leaf whose gap tapers too much: where its lock side had to stay, hatched beyond."""
    judged, taper, under = row.judged.get("gap_taper"), leaf.gaps.taper_under, leaf.gaps.under_hinge
    if judged is None or judged.upper is None or taper is None or under is None:
        return
    decision = judged.of(abs(taper))
    if decision == "within":
        return
    at = _corners(row, left, leaf)
    side = 1.0 if taper > 0 else -1.0
    allowed = (at["under_lock"][0], row.foot - (under + side * judged.upper) * row.error)
    yield pen.hatched([at["under_hinge"], allowed, at["under_lock"]], decision)
    yield pen.line(at["under_hinge"], allowed, RED, dash="chain")


def _numbers(row: Row, left: float, leaf: Leaf) -> Iterator[str]:
    gaps, right = leaf.gaps, left + row.cell
    corner = min(16.0, row.cell / 4)
    under = pen.DECISION.get(_decision(row, "under_hinge", gaps.taper_under or 0.0), INK)
    places = (
        (gaps.over_hinge, (left + corner, row.top - 6), INK),
        (gaps.over_lock, (right - corner, row.top - 6), INK),
        (gaps.under_hinge, (left + corner, row.foot + 15), under),
        (gaps.under_lock, (right - corner, row.foot + 15), under),
    )
    for gap, at, pencil in places:
        if gap is not None:
            yield pen.words(at, number(gap, 1), pencil)
    tall = row.foot - row.top
    for gap, y in ((gaps.beside_top, row.top + 0.3 * tall), (gaps.beside_bottom, row.foot - 0.3 * tall + 8)):
        if gap is not None:
            yield pen.words((left + min(gap, LARGEST) * row.error + 5, y), number(gap, 1), INK, "start")


@dataclass(frozen=True)
class _Counted:
    """What stands under a leaf. worst: which of its numbers a limit is held against."""

    deviation: str
    read: Callable[[Leaf], tuple[float | None, ...]]
    words: str
    decimals: int
    worst: Callable[[list[float]], float]


_UNDER = (
    _Counted("seal_compression_low", lambda leaf: leaf.seals, "seal {}", 1, min),
    _Counted("hinge_packer_count", lambda leaf: leaf.packers, "packers {}", 0, max),
    _Counted("running_force", lambda leaf: leaf.force, "{} N", 0, max),
)


def _below(row: Row, top: float) -> tuple[list[str], float]:
    """Under each leaf what else was read on it: seal compression, packers behind its hinges, force to run it."""
    parts: list[str] = []
    for kind in _UNDER:
        if not any(kind.read(leaf) for leaf in row.leaves):
            continue
        top += STEP
        for place, leaf in enumerate(row.leaves):
            if values := kind.read(leaf):
                parts.append(_counted(row, kind, values, (row.left + row.cell * (place + 0.5), top)))
    return parts, top


def _counted(row: Row, kind: _Counted, values: tuple[float | None, ...], at: Point) -> str:
    numbers = " ".join("–" if value is None else number(value, kind.decimals) for value in values)
    judged = row.judged.get(kind.deviation)
    known = [value for value in values if value is not None]
    pencil = pen.DECISION.get(judged.of(kind.worst(known)), INK) if judged else INK
    said = kind.words.format(numbers)
    return pen.words(at, said if width(said) <= row.cell else fitted(numbers, row.cell), pencil)


def _squareness(row: Row, left: float, leaf: Leaf) -> Iterator[str]:
    """The longer diagonal, where they differ, and by how much; which leaf hangs lowest."""
    middle, y = left + row.cell / 2, (row.top + row.foot) / 2
    size, judged = leaf.out_of_square, row.judged.get("leaf_diagonal_difference")
    if size and leaf.rising is not None and leaf.falling is not None:
        pencil = pen.DECISION.get(judged.of(size), GREY) if judged else GREY
        at = _corners(row, left, leaf)
        ends = ("under_hinge", "over_lock") if leaf.rising > leaf.falling else ("over_hinge", "under_lock")
        yield pen.line(at[ends[0]], at[ends[1]], pencil)
        yield pen.words((middle, y + 22), f"+{number(size, 1)}", pencil)
    drop = leaf.gaps.drop if row.lowest == leaf else None
    if drop is not None:
        yield _low(row, drop, (middle, y - 16))


def _low(row: Row, drop: float, at: Point) -> str:
    decision = gravest(row.judged, "leaf_drop", "leaf_drop_rotation", "leaf_drop_racking")
    return pen.words(at, f"{figure(drop)} low", pen.DECISION.get(decision, INK))
