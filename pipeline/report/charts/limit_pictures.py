"""The limit of one thing to watch as a picture: the member, the limit as a red chain line, hatched what lies beyond.

Errors are drawn far too large on purpose; nothing is to scale. `side` is which way the crew usually errs, 1, -1 or 0.
"""

from collections.abc import Callable
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.report.charts.door_pictures import DOOR_PICTURES
from pipeline.report.charts.leaf_pictures import LEAF_PICTURES
from pipeline.report.charts.sketch import Sketch

WIDTH, TOP, HEIGHT = 340, 30, 136
SCALE_LEFT, SCALE_RIGHT, SCALE_Y = 40, 300, 96


@dataclass(frozen=True)
class Asked:
    """What a picture needs: which, the number at its limit, the place on the door, the usual side, by place."""

    picture: str
    number: str
    place: str
    sides: dict[str, int]


Draw = Callable[[Sketch, str, str, dict[str, int]], None]


def draw_limit(asked: Asked, key: str, title: str, said: str) -> Markup:
    """The picture as SVG. title: what it shows; said: the limit in a sentence, for those who hear the page."""
    sketch = Sketch(WIDTH, HEIGHT, TOP)
    draw: Draw = (DOOR_PICTURES | LEAF_PICTURES).get(asked.picture, _on_a_scale)
    draw(sketch, asked.number, asked.place, asked.sides)
    return sketch.drawn(key, title, said)


def _on_a_scale(sketch: Sketch, number: str, _: str, __: dict[str, int]) -> None:
    """The limit alone, on a line from nothing to beyond: for what has no picture of its own."""
    middle = (SCALE_LEFT + SCALE_RIGHT) / 2
    sketch.box(middle, SCALE_Y - 26, SCALE_RIGHT - middle, 26, "beyond")
    sketch.line((SCALE_LEFT, SCALE_Y), (SCALE_RIGHT, SCALE_Y), "member")
    sketch.line((middle, SCALE_Y - 44), (middle, SCALE_Y + 14), "limit")
    sketch.words((middle, SCALE_Y - 48), number, look="red")
    sketch.words(((SCALE_LEFT + middle) / 2, SCALE_Y - 8), "good")
    sketch.words(((middle + SCALE_RIGHT) / 2, SCALE_Y + 18), "out: tell us", look="red")
