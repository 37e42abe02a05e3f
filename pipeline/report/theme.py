"""The pencils, the type and the Altair theme of every drawing: lines on paper, nothing filled for its own sake."""

from typing import Any

import altair as alt

# Drawn in these colours; in a page each becomes the CSS variable of its name, which is how the dark sheet works.
INK, BLUE, RED, OCHRE, GREY = "#1d2b3a", "#1f5fa8", "#b5321f", "#96630a", "#6a7480"
SHEET, LINE = "#fbfaf6", "#c9c6bb"
PENCILS = {
    INK: "var(--ink)",
    BLUE: "var(--blue)",
    RED: "var(--red)",
    OCHRE: "var(--ochre)",
    GREY: "var(--grey)",
    SHEET: "var(--sheet)",
    LINE: "var(--line)",
}
HATCH_OUT, HATCH_UNDECIDED = "url(#hatch-out)", "url(#hatch-undecided)"
CHAIN = [14, 3, 2, 3]  # long, short: a datum or a limit (ISO 128)
BROKEN = [4, 3]  # what is not shown to be there
FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, sans-serif"
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
