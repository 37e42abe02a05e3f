"""The drawing of one door for the file: its views on one sheet with a frame and a title block, as SVG and as PNG."""

from pipeline.door.drawings import pen
from pipeline.door.drawings.views import View
from pipeline.door.sheet import DoorSheet
from pipeline.report.drawing import lettering
from pipeline.report.drawing.drawn import WIDE
from pipeline.report.drawing.pencils import GREY, INK, OCHRE, RED, SHEET
from pipeline.sheets.cautions import DEFERS

MARGIN, INNER, LINE = 24, 20, 17  # px
BETWEEN = 34  # px between two views
PNG_SCALE = 2.0  # 1,616 px across: 200 dots an inch over A4's breadth
_PATTERNS = (
    '<defs><pattern id="hatch-out" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    f'<path d="M0,0V6" stroke="{RED}"/></pattern>'
    '<pattern id="hatch-undecided" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">'
    f'<path d="M0,0V5" stroke="{OCHRE}"/></pattern></defs>'
)


def drawing_svg(sheet: DoorSheet) -> str:
    """The whole drawing as SVG, in paper's colours, complete in itself."""
    left, across = float(MARGIN + INNER), float(WIDE)
    parts, top = [], float(MARGIN + INNER)
    for text in wrapped(f"{sheet.headline} {sheet.came_back}", across):
        top += LINE
        parts.append(pen.words((left, top), text, INK, "start", is_bold=True))
    for text in wrapped(sheet.warning, across) if sheet.warning else ():
        top += LINE
        parts.append(pen.words((left, top), text, RED, "start"))
    top += BETWEEN
    for view in sheet.views:
        svg, top = _placed(view, left, top)
        parts.append(svg)
    for text in wrapped(DEFERS, across):
        parts.append(pen.words((left, top), text, GREY, "start"))
        top += LINE
    block, foot = _title_block(sheet, top)
    width, height = WIDE + 2 * (MARGIN + INNER), round(foot + MARGIN)
    edge = (
        f'<rect x="{MARGIN}" y="{MARGIN}" width="{width - 2 * MARGIN}" height="{foot - MARGIN:.1f}" fill="none" '
        f'stroke="{INK}"/>'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}">'
        f'{_PATTERNS}<rect width="{width}" height="{height}" fill="{SHEET}"/>{edge}{"".join(parts)}{block}</svg>'
    )


def _placed(view: View, left: float, top: float) -> tuple[str, float]:
    title = pen.words((left, top), view.title, INK, "start", is_bold=True)
    svg = f'<g transform="translate({left:g},{top + 14:.1f})">{view.svg[WIDE]}</g>'
    return title + svg, top + 14 + view.heights[WIDE] + BETWEEN


def _title_block(sheet: DoorSheet, top: float) -> tuple[str, float]:
    cells = (
        ("door", sheet.door, 0.2), ("crew", sheet.crew, 0.16), ("firm", sheet.firm, 0.25),
        ("records to", sheet.records_to, 0.15), ("run", sheet.run, 0.24),
    )  # fmt: skip
    whole, left = WIDE + 2 * INNER, float(MARGIN)
    foot = top + 24 + 2 * LINE
    parts = [pen.line((left, top), (left + whole, top), INK)]
    for number, (name, text, part) in enumerate(cells):
        if number:
            parts.append(pen.line((left, top), (left, foot), INK))
        parts.append(pen.words((left + 10, top + LINE), name, GREY, "start"))
        for row, said in enumerate(wrapped(text, whole * part - 16)[:2]):
            parts.append(pen.words((left + 10, top + LINE * (2 + row)), said, INK, "start"))
        left += whole * part
    return "".join(parts), foot


def wrapped(text: str, across: float) -> list[str]:
    """The text in as many lines as it takes; a word longer than a line is cut with … ."""
    return lettering.wrapped(pen.visible(text), across, None)


def drawing_png(svg: str) -> bytes:
    """The same as a picture."""
    import vl_convert

    return bytes(vl_convert.svg_to_png(svg, scale=PNG_SCALE))
