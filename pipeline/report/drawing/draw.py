"""An Altair chart as inline SVG, twice: wide for a desk and paper, narrow for a phone. No script, no network.

Colours become CSS variables, so that one drawing serves the light and the dark sheet.
"""

import re
from collections.abc import Callable

import altair as alt
import vl_convert
from altair.utils.schemapi import debug_mode
from markupsafe import Markup

from pipeline.report.drawing.drawn import Drawing, named_svg
from pipeline.report.drawing.pencils import for_page
from pipeline.report.drawing.theme import THEME


def draw(chart_of: Callable[[bool], alt.LayerChart], key: str, title: str, description: str) -> Drawing:
    """Draws a figure in both widths.

    chart_of     makes the chart; its argument says whether the narrow form is wanted
    key          letters and hyphens, unlike any other figure's on the page: the SVG's ids begin with it
    title        what the figure shows, for those who hear the page
    description  what it says, in a sentence
    """
    # Checking each part against the chart grammar takes longer than drawing it; a test checks every chart instead.
    with debug_mode(False):
        charts = {"wide": chart_of(False), "narrow": chart_of(True)}
    drawn = [_svg(chart, f"{key}-{form}", title, description) for form, chart in charts.items()]
    return Drawing(*drawn)


def _svg(chart: alt.LayerChart, key: str, title: str, description: str) -> Markup:
    with alt.theme.enable(THEME):
        svg = vl_convert.vegalite_to_svg(chart.to_dict(validate=False))
    return _named(_unique_ids(for_page(_without_roles(svg)), key), key, title, description)


def _without_roles(svg: str) -> str:
    # A drawing is one picture with one name; its parts come with roles of their own and no name, worse than none.
    return re.sub(r' role="graphics-[a-z]+" aria-roledescription="[^"<>]*"', "", svg)


def _unique_ids(svg: str, key: str) -> str:
    # Clip paths are numbered from one in every drawing; two drawings on one page must not share them.
    svg = re.sub(r'id="(clip\d+)"', rf'id="{key}-\1"', svg)
    return re.sub(r"url\(#(clip\d+)\)", rf"url(#{key}-\1)", svg)


def _named(svg: str, key: str, title: str, description: str) -> Markup:
    opening = re.match(r'<svg [^>]*?width="([\d.]+)" height="([\d.]+)"[^>]*>', svg)
    if opening is None:
        raise ValueError("the drawing is not an SVG with a width and a height")
    inside = svg[opening.end() :].removesuffix("</svg>")
    return named_svg(inside, key, (opening[1], opening[2]), (title, description))
