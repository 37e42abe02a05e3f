"""A small drawing by hand in the signs of a working drawing: members, dimension lines, chain lines, hatching. SVG.

Colours are classes of the style sheet, so that one sketch serves screen, dark sheet and black print.
"""

from collections.abc import Sequence

from markupsafe import Markup, escape

from pipeline.report.drawing.drawn import named_svg

Point = tuple[float, float]
OBLIQUE = 4  # pixels that the end of a dimension line reaches to each side, 45 degrees (ISO 129)


class Sketch:
    """Collects the parts of one drawing. width, height: in pixels; top: of what is shown."""

    def __init__(self, width: int, height: int, top: int = 0) -> None:
        self.width, self.height, self.top = width, height, top
        self._parts: list[str] = []

    def line(self, start: Point, end: Point, look: str = "thin") -> None:
        """A straight line. look: member, thin, chain (a datum), limit, string, fixing, stroke, way."""
        (x1, y1), (x2, y2) = start, end
        self._parts.append(f'<line class="{look}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>')

    def shape(self, points: Sequence[Point], look: str) -> None:
        """A closed outline. look: as of a line, or beyond (hatched: out), wall (hatched: what it stands in), solid."""
        path = "L".join(f"{x:.1f},{y:.1f}" for x, y in points)
        self._parts.append(f'<path class="{look}" d="M{path}Z"/>')

    def curve(self, start: Point, middle: Point, end: Point, look: str = "member") -> None:
        """A bowed line; `middle` is where it would bend to, twice as far as it goes."""
        (x1, y1), (xm, ym), (x2, y2) = start, middle, end
        self._parts.append(f'<path class="{look}" d="M{x1:.1f},{y1:.1f}Q{xm:.1f},{ym:.1f} {x2:.1f},{y2:.1f}"/>')

    def box(self, left: float, top: float, width: float, height: float, look: str) -> None:
        """An upright rectangle."""
        right, foot = left + width, top + height
        self.shape([(left, top), (right, top), (right, foot), (left, foot)], look)

    def ring(self, x: float, y: float, radius: float, look: str = "mark") -> None:
        """A circle round what is meant."""
        self._parts.append(f'<circle class="{look}" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}"/>')

    def words(self, at: Point, words: str, anchor: str = "middle", look: str = "") -> None:
        """Words on the drawing. look: red, quiet, blue."""
        x, y = at
        named = f' class="{look}"' if look else ""
        self._parts.append(f'<text{named} x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>')

    def dimension(self, start: Point, end: Point) -> None:
        """A thin line with an oblique stroke at both ends."""
        self.line(start, end)
        for x, y in (start, end):
            self.line((x - OBLIQUE, y + OBLIQUE), (x + OBLIQUE, y - OBLIQUE), "stroke")

    def arrow(self, start: Point, end: Point) -> None:
        """An arrow that lies or stands: which way it usually goes."""
        self.line(start, end, "way")
        (x, y), (dx, dy) = end, (_sign(end[0] - start[0]), _sign(end[1] - start[1]))
        back = (x - 7 * dx, y - 7 * dy)
        self.shape([end, (back[0] + 3.5 * dy, back[1] + 3.5 * dx), (back[0] - 3.5 * dy, back[1] - 3.5 * dx)], "head")

    def drawn(self, key: str, title: str, said: str) -> Markup:
        """The drawing as SVG, named for those who hear the page. key: unlike any other's on the page."""
        size = (self.width, self.height)
        return named_svg("".join(self._parts), key, size, (title, said), top=self.top, look="sketch")


def _sign(value: float) -> float:
    return 0.0 if abs(value) < 1e-9 else value / abs(value)
