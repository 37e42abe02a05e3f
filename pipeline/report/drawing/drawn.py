"""A figure drawn in both its widths, and how a drawing stands in a page; without the chart library."""

from dataclasses import dataclass

from markupsafe import Markup, escape

WIDE, NARROW = 720, 312
DESK = 640  # across the sheets' charts at a desk: on paper they stand beside their words and are still to be legible


@dataclass(frozen=True)
class Drawing:
    """The two forms of one figure, as markup that a page takes in unchanged."""

    wide: Markup
    narrow: Markup


def named_svg(inside: str, key: str, size: tuple[str | int, str | int], names: tuple[str, str], *, top: int = 0,
              look: str = "") -> Markup:  # fmt: skip
    """A drawing as SVG, one picture with one name for those who hear the page.

    inside  its elements; key: unlike any other's on the page, the ids begin with it; size: width and height, px
    names   what it shows, and what it says in a sentence; top: px to what is shown; look: its class
    """
    (width, height), (title, description) = size, names
    classed = f' class="{look}"' if look else ""
    return Markup(
        f'<svg xmlns="http://www.w3.org/2000/svg"{classed} width="{width}" height="{height}"'
        f' viewBox="0 {top} {width} {height}" role="img" aria-labelledby="{key}-title {key}-desc">'
        f'<title id="{key}-title">{escape(title)}</title><desc id="{key}-desc">{escape(description)}</desc>'
        f"{inside}</svg>"
    )
