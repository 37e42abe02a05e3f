"""The pencils of every drawing and the lines they draw, without the chart library."""

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
SHORT_CHAIN = [8.5, 2.5, 2, 2.5]  # the same where it runs along one row of a phone: long, short, long
BROKEN = [4, 3]  # what is not shown to be there
FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, sans-serif"


def for_page(drawing: str) -> str:
    """The drawing, SVG or JSON, in the page's own pencils, which change with light and dark."""
    for colour, variable in PENCILS.items():
        drawing = drawing.replace(f'"{colour}"', f'"{variable}"')
    return drawing
