"""The Altair theme of every drawing: lines on paper, nothing filled for its own sake."""

from typing import Any

import altair as alt

from pipeline.report.drawing.pencils import FONT, GREY, INK

THEME = "working_drawing"


@alt.theme.register(THEME, enable=False)
def _working_drawing() -> alt.theme.ThemeConfig:
    axis: dict[str, Any] = {
        "grid": False,
        "domainColor": INK,
        "domainWidth": 1,
        "tickColor": INK,
        "tickSize": 5,
        "labelColor": INK,
        "labelFontSize": 12,
        "labelPadding": 4,
        "titleColor": GREY,
        "titleFontSize": 12,
        "titleFontWeight": "normal",
        "titlePadding": 8,
    }
    config: dict[str, Any] = {
        "aria": False,
        "background": None,
        "font": FONT,
        "padding": 2,
        "view": {"stroke": None},
        "axis": axis,
        "text": {"color": INK, "fontSize": 12, "font": FONT},
        "rule": {"color": INK, "strokeWidth": 1},
        "point": {"strokeWidth": 1.2, "opacity": 1, "filled": False},
    }
    return {"config": config}  # type: ignore[typeddict-item]
