"""The views of one door, each drawn for a desk or paper and for a phone; what was not read has no view."""

from dataclasses import dataclass

from markupsafe import Markup

from pipeline.door.drawings import pen
from pipeline.door.drawings.causes import Shares, draw_causes
from pipeline.door.drawings.elevation import draw_frame
from pipeline.door.drawings.fixings import GAPS, MARGIN, WORDED, Plan, draw_fixings
from pipeline.door.drawings.frame import BESIDE, JAMBS, ROOM, Frame, from_first
from pipeline.door.drawings.leaves import draw_leaves
from pipeline.door.drawings.life import draw_life
from pipeline.door.drawings.scale import FACTORS, factor_of
from pipeline.door.drawings.side import Side, draw_side
from pipeline.door.geometry import Points
from pipeline.door.leaves import Leaf, lowest_leaf
from pipeline.door.life import Event, years_words
from pipeline.door.limits import Judged
from pipeline.door.places import Read
from pipeline.door.trail import Row
from pipeline.report.drawing.drawn import NARROW, WIDE, Drawing, named_svg
from pipeline.report.drawing.pencils import GREY, INK, for_page

TALLEST = {WIDE: 300.0, NARROW: 240.0}
SIDE = 176  # px across for the side view


@dataclass(frozen=True)
class View:
    """One drawing. svg: elements in paper's colours, by width; heights: px, by width."""

    key: str
    title: str
    svg: dict[int, str]
    heights: dict[int, float]

    def drawing(self, description: str) -> Drawing:
        """For the page: in its own pencils, named for those who hear it."""
        return Drawing(*(self._whole(width, description) for width in (WIDE, NARROW)))

    def _whole(self, width: int, description: str) -> Markup:
        size = (width, round(self.heights[width] + 2))
        return named_svg(for_page(self.svg[width]), f"{self.key}-{width}", size, (self.title, description))


def _view(key: str, title: str, drawn: dict[int, tuple[str, float]]) -> View:
    svg = {width: elements for width, (elements, _) in drawn.items()}
    return View(key, title, svg, {width: height for width, (_, height) in drawn.items()})


def frame_view(facts: Row, read: Read, judged: dict[str, Judged]) -> View | None:
    """The frame from inside and its jambs from the side; None where the door's size is not recorded."""
    if not read.width or not read.height:
        return None
    drawn = {width: _frame(facts, read, judged, width) for width in (WIDE, NARROW)}
    return _view("frame", "The door seen from inside, as it was read", drawn)


def _frame(facts: Row, read: Read, judged: dict[str, Judged], width: int) -> tuple[str, float]:
    jambs = {jamb: from_first(read.line("jamb_face", jamb)) for jamb in JAMBS}
    has_side = any(jambs.values())
    is_beside = has_side and width == WIDE
    left, right = (BESIDE + (ROOM[width] if is_out else 0.0) for is_out in _outwards(read))
    across = width - left - right - (SIDE if is_beside else 0)
    door_width, door_height = read.width or 0.0, read.height or 0.0
    scale = min(across / door_width, TALLEST[width] / door_height)
    frame = Frame(read, judged, facts["leaves"], door_width, door_height, left, scale, ROOM[width])
    svg, foot = draw_frame(frame)
    if is_beside:
        at = left + door_width * scale + right + SIDE / 2
        svg += draw_side(_side(jambs, judged, frame.factor, at, frame.foot, scale, door_height))
    bars, foot = _scale_bars(left, foot + 22, scale, frame.factor if frame.is_read or has_side else 0, width)
    svg += bars
    if has_side and not is_beside:
        foot += 60 + 170
        svg += draw_side(_side(jambs, judged, frame.factor, width / 2, foot, 170 / door_height, door_height))
        foot += 30
    return svg, foot


def _outwards(read: Read) -> tuple[bool, bool]:
    """Whether the left and the right jamb lean away from the door, so that their numbers need more room."""
    left, right = (from_first(read.line("jamb_edge", jamb)) for jamb in JAMBS)
    return any(value < 0 for _, value in left), any(value > 0 for _, value in right)


def _side(
    jambs: dict[str, Points], judged: dict[str, Judged], factor: int, at: float, foot: float, scale: float,
    height: float,
) -> Side:  # fmt: skip
    """With the factor of the elevation where it fits, else the largest that does."""
    most = max(abs(value) for points in jambs.values() for _, value in points)
    limit = judged["jamb_plumb_error"].upper if "jamb_plumb_error" in judged else None
    fitting = factor_of(max(most, limit or 0.0, 1e-9), scale, SIDE / 5)
    error = scale * min(max(factor, FACTORS[0]), fitting)
    return Side(jambs, judged, at, foot, height, scale, error)


def _scale_bars(left: float, y: float, scale: float, factor: int, width: int) -> tuple[str, float]:
    """A metre of the door, and millimetres of its errors as they are drawn; factor 0: none are."""
    metre = 1000 * scale
    svg = pen.dimension((left, y), (left + metre, y), "1 m")
    if not factor:
        return svg, y + 10
    errors = next(mm for mm in (1, 2, 5, 10, 20, 50, 100) if mm * scale * factor >= 24 or mm == 100)
    start = left + metre + 40 if width == WIDE else left
    below = y if width == WIDE else y + 30
    end = start + errors * scale * factor
    svg += pen.dimension((start, below), (end, below), "")
    svg += pen.words((end + 10, below + 4), f"{errors} mm of error: drawn {factor} times", INK, "start")
    return svg, below + 10


def leaves_view(read: Read, judged: dict[str, Judged], leaves: tuple[Leaf, ...], drop: float | None) -> View | None:
    """The leaves and their gaps; None where none was read or the door's size is not recorded."""
    if not read.width or not read.height or not any(leaf.is_read for leaf in leaves):
        return None
    size = (read.width / len(leaves), read.height)
    lowest = lowest_leaf(leaves, drop)
    drawn = {}
    is_measured = any(not leaf.gaps.is_empty or leaf.out_of_square is not None for leaf in leaves)
    for width, tall in ((WIDE, 320.0), (NARROW, 220.0)):
        tallest = tall if is_measured else 0.72 * tall  # little to see in them: they carry what stands below
        svg, foot, factor = draw_leaves(leaves, judged, lowest, size, (width - 4.0, tallest))
        if any(not leaf.gaps.is_empty for leaf in leaves):
            foot += 22
            svg += pen.words((0, foot), f"gaps drawn {factor} times", GREY, "start")
        drawn[width] = (svg, foot + 6)
    return _view("leaves", "The leaves and the gaps round them", drawn)


def fixings_view(read: Read, judged: dict[str, Judged]) -> View | None:
    """Fixings, packers, gaps to the wall; None where none was read or the door's size is not recorded."""
    measures = ("fixing", "packer", "perimeter_gap")
    if not read.width or not read.height or not any(read.of(measure) for measure in measures):
        return None
    drawn = {}
    for width in (WIDE, NARROW):
        top = float(MARGIN + (GAPS if read.of("perimeter_gap") else 0))
        left = top + (WORDED if width == WIDE and read.of("perimeter_gap") else 0)
        scale = min((width - 2 * left) / read.width, TALLEST[width] * 0.8 / read.height)
        plan = Plan(read, judged, read.width, read.height, left, top - 10, scale, width == WIDE)
        drawn[width] = draw_fixings(plan)
    return _view("fixings", "Fixings and packers of the frame", drawn)


def life_view(facts: Row, events: tuple[Event, ...]) -> View:
    """The door's life."""
    years = facts["door_years"]
    watched = (facts["from_on"], facts["until_on"], years_words(years)) if years and facts["from_on"] else None
    return _view("life", "The life of the door", {width: draw_life(events, watched, width) for width in (WIDE, NARROW)})


def causes_view(calls: tuple[Shares, ...]) -> View | None:
    """What accounts for its callbacks; None where no callback has causes."""
    if not calls:
        return None
    drawn = {width: draw_causes(calls, width, width == NARROW) for width in (WIDE, NARROW)}
    return _view("causes", "What accounts for its callbacks", drawn)
