"""What a pencil can do: lines, chains, dimensions, hatching and words, as SVG elements in pixels.

Conventions: ISO 128 (continuous for what is seen, chain for a datum or a limit, hatching at 45 degrees) and ISO 129
(thin dimension lines with oblique strokes). Colours are those of paper.
"""

from collections.abc import Iterable

from markupsafe import escape

from pipeline.report.drawing.lettering import width as lettering_width
from pipeline.report.drawing.pencils import BROKEN, CHAIN, FONT, HATCH_OUT, HATCH_UNDECIDED, INK, OCHRE, RED, SHEET
from pipeline.report.numbers import as_name

Point = tuple[float, float]
LETTER = 12  # px
STROKE = 4  # px, half the oblique stroke of a dimension
THICK, THIN = 2.0, 1.0
DASHES = {name: " ".join(map(str, lengths)) for name, lengths in (("chain", CHAIN), ("broken", BROKEN))}
NO_SIGNS = "\ufffe\uffff"
DECISION = {"out": RED, "undecided": OCHRE}


def line(one: Point, other: Point, pencil: str = INK, width: float = THIN, dash: str = "") -> str:
    """A straight line. dash: empty, chain or broken."""
    return path([one, other], pencil, width, dash)


def path(points: Iterable[Point], pencil: str = INK, width: float = THIN, dash: str = "") -> str:
    """A line through points."""
    d = "M" + "L".join(f"{x:.1f},{y:.1f}" for x, y in points)
    dashed = f' stroke-dasharray="{DASHES[dash]}"' if dash else ""
    return f'<path d="{d}" fill="none" stroke="{pencil}" stroke-width="{width:g}"{dashed}/>'


def hatched(points: Iterable[Point], kind: str) -> str:
    """An area hatched: kind out (red) or undecided (ochre, the other way)."""
    fill = HATCH_UNDECIDED if kind == "undecided" else HATCH_OUT
    return f'<polygon points="{_corners(points)}" fill="{fill}"/>'


def filled(points: Iterable[Point], pencil: str = INK) -> str:
    """A small solid mark."""
    return f'<polygon points="{_corners(points)}" fill="{pencil}"/>'


def ring(at: Point, radius: float, pencil: str = INK, is_full: bool = False) -> str:
    """A circle, full or open on the paper's ground."""
    return (
        f'<circle cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="{radius:g}" fill="{pencil if is_full else SHEET}" '
        f'stroke="{pencil}" stroke-width="1.5"/>'
    )


def words(at: Point, text: str, pencil: str = INK, anchor: str = "middle", is_bold: bool = False) -> str:
    """One line of words, with a rim of paper so that lines behind it do not cross it."""
    weight = ' font-weight="700"' if is_bold else ""
    return (
        f'<text x="{at[0]:.1f}" y="{at[1]:.1f}" text-anchor="{anchor}" fill="{pencil}" font-size="{LETTER}" '
        f'font-family="{FONT}"{weight} stroke="{SHEET}" stroke-width="4" stroke-linejoin="round" '
        f'paint-order="stroke">{escape(visible(text))}</text>'
    )


def visible(text: str) -> str:
    """The text as one line of signs that a drawing can hold: no control or direction marks, none that XML forbids."""
    return as_name("".join(sign for sign in text if sign not in NO_SIGNS))


def dimension(one: Point, other: Point, text: str, pencil: str = INK) -> str:
    """A level dimension line with its number above the middle."""
    middle = ((one[0] + other[0]) / 2, min(one[1], other[1]) - 5)
    return _measured(one, other, pencil) + words(middle, text, pencil)


def upright_dimension(one: Point, other: Point, text: str, pencil: str = INK, is_left: bool = True) -> str:
    """An upright dimension line with its number beside the middle, on one side."""
    beside = -6 if is_left else 6
    at = (one[0] + beside, (one[1] + other[1]) / 2 + 4)
    return _measured(one, other, pencil) + words(at, text, pencil, "end" if is_left else "start")


def _measured(one: Point, other: Point, pencil: str) -> str:
    strokes = (line((x - STROKE, y + STROKE), (x + STROKE, y - STROKE), pencil) for x, y in (one, other))
    return line(one, other, pencil) + "".join(strokes)


def _corners(points: Iterable[Point]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def in_a_row(labels: Iterable[tuple[float, str, float]], room: float = 6) -> list[tuple[float, str]]:
    """Of labels (middle, text, weight) along a line those that have room beside each other, the weightiest first.

    room  px between two of them
    """
    kept: list[tuple[float, str]] = []
    for middle, text, _ in sorted(labels, key=lambda label: -label[2]):
        half = lettering_width(text) / 2
        if all(abs(middle - other) >= half + lettering_width(said) / 2 + room for other, said in kept):
            kept.append((middle, text))
    return sorted(kept)
