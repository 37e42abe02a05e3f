"""A figure drawn in both its widths, without the chart library."""

from dataclasses import dataclass

from markupsafe import Markup

WIDE, NARROW = 720, 312


@dataclass(frozen=True)
class Drawing:
    """The two forms of one figure, as markup that a page takes in unchanged."""

    wide: Markup
    narrow: Markup
