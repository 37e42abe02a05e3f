"""The drawings of the linked sheet: their form, without rows; the page gives them rows whenever its reader chooses.

Each is bound to the page's own controls by Altair parameters: what is not of the choice turns grey. Where a row or
column stands comes with it in pixels, since only the page knows how many there are.
"""

import json
from dataclasses import dataclass
from typing import Any

import altair as alt

from pipeline.report.drawing.drawn import DESK, NARROW
from pipeline.report.drawing.marks import HEAD, Layer, Layers
from pipeline.report.drawing.pencils import CHAIN, GREY, INK, for_page
from pipeline.report.drawing.theme import THEME

LEFT, RIGHT = {True: 8, False: 204}, {True: NARROW - 12, False: DESK - 164}
MOST_NAME = {True: 170, False: 184}  # pixels of a name; its table has it in full
COLUMN_LEFT, COLUMN_FOOT, COLUMN_HEIGHT = 62, 236, 310
EVERY = "true"  # a choice that no control narrows


@dataclass(frozen=True)
class _Lay:
    """How values and places lie on a drawing. axis: of the values; is_lying: values run across, places down."""

    scale: alt.Scale
    axis: alt.Axis
    is_lying: bool

    def value(self, field: str, far: str = "") -> dict[str, Any]:
        """The value channel for a field, to a second field where given."""
        along, second = (alt.X, alt.X2) if self.is_lying else (alt.Y, alt.Y2)
        name = "x" if self.is_lying else "y"
        channels = {name: along(field, type="quantitative", scale=self.scale, axis=self.axis)}
        return channels | ({f"{name}2": second(far)} if far else {})

    def place(self, field: str, far: str = "") -> dict[str, Any]:
        """The place channel, in pixels, for a field."""
        across, second = (alt.Y, alt.Y2) if self.is_lying else (alt.X, alt.X2)
        name = "y" if self.is_lying else "x"
        channels = {name: across(field, type="quantitative", scale=None, axis=None)}
        return channels | ({f"{name}2": second(far)} if far else {})


def rows_chart(title: str, is_of_choice: str, is_narrow: bool) -> alt.LayerChart:
    """Intervals as lying dimension lines, a row each; the value axis runs from 0 to the parameter `reach`.

    title         of the value axis
    is_of_choice  a Vega expression over `datum` and the controls: whether the row is one that was chosen
    """
    across, left = NARROW if is_narrow else DESK, LEFT[is_narrow]
    axis = alt.Axis(
        title=title, labelFlush=False, tickCount=4 if is_narrow else 7, titleAnchor="start" if is_narrow else "middle"
    )
    lay = _Lay(_scale(left, RIGHT[is_narrow]), axis, is_lying=True)
    rows, pencil = _rows(), _pencil(is_of_choice)
    lift, name_x, align = (-26, 0, "left") if is_narrow else (0, left - 16, "right")
    layers = [
        *_datums(lay, {"dy": -6}),
        *_dimension_lines(rows, lay, pencil, {"dy": -11}),
        _words(rows, "name", pencil, {"x": alt.XValue(name_x)}, align=align, dy=lift, limit=MOST_NAME[is_narrow]),
        _words(rows, "counts", alt.value(GREY), {"x": alt.XValue(across)}, align="right", dy=lift),
        _words(rows, "few", alt.value(GREY), {"x": alt.XValue(left + 4)}, align="left"),
    ]
    return alt.LayerChart(layer=layers, width=across, height=40)


def columns_chart(title: str, is_of_choice: str) -> alt.LayerChart:
    """Intervals as standing dimension lines, a column each, with its name and counts below."""
    axis = alt.Axis(title=title, tickCount=5, offset=-COLUMN_LEFT)
    lay = _Lay(_scale(COLUMN_FOOT, HEAD + 8), axis, is_lying=False)
    rows, pencil, grey = _rows(), _pencil(is_of_choice), alt.value(GREY)
    below = [("name", pencil), ("under", pencil), ("counts", grey), ("few", grey)]
    foot = [
        rows.mark_text(align="center", baseline="top").encode(
            **lay.place("x"), y=alt.YValue(COLUMN_FOOT + 8 + 16 * line), text=_text(field), color=colour
        )
        for line, (field, colour) in enumerate(below)
    ]
    lines = _dimension_lines(rows, lay, pencil, {"dx": 7, "align": "left"})
    layers = [*_datums(lay, {"dy": -7, "align": "right"}), *lines, *foot]
    return alt.LayerChart(layer=layers, width=DESK, height=COLUMN_HEIGHT)


def as_json(chart: alt.LayerChart, controls: tuple[str, ...]) -> str:
    """The chart as the page takes it in: in the theme, in pencils of light and dark, bound to its controls by id."""
    bound = [alt.param(name, value="", bind=alt.BindDirect(f"#{name}", event="change")) for name in controls]
    with alt.theme.enable(THEME):
        spec = chart.add_params(*bound, alt.param("reach", value=1)).to_dict(validate=False)
    return for_page(json.dumps(spec, separators=(",", ":")))


def _scale(start: float, end: float) -> alt.Scale:
    return alt.Scale(domain=[0, alt.ExprRef("reach")], range=[start, end], nice=False, zero=False)


def _rows() -> Layer:
    return Layer(alt.NamedData(name="rows"))


def _pencil(is_of_choice: str) -> Any:
    if is_of_choice == EVERY:
        return alt.value(INK)
    return alt.when(is_of_choice).then(alt.value(INK)).otherwise(alt.value(GREY))


def _text(field: str) -> alt.Text:
    return alt.Text(field, type="nominal")


def _words(rows: Layer, field: str, colour: Any, place: dict[str, Any], **look: Any) -> Layer:
    y = alt.Y("y", type="quantitative", scale=None, axis=None)
    return rows.mark_text(**look).encode(y=y, text=_text(field), color=colour, **place)


def _dimension_lines(rows: Layer, lay: _Lay, pencil: Any, beside: dict[str, Any]) -> Layers:
    """Line, oblique ends, estimate and number of the rows that are told; those too few have none."""
    told = rows.transform_filter("datum.few == ''")
    place = lay.place("y" if lay.is_lying else "x")
    ends = [
        told.mark_point(size=70, strokeWidth=1.4).encode(
            **lay.value(end), **place, stroke=pencil, shape=alt.Shape(f"{end}_end", type="nominal", scale=None)
        )
        for end in ("low", "high")
    ]
    return [
        told.mark_rule().encode(**lay.value("low", "high"), **place, stroke=pencil),
        *ends,
        told.mark_point(size=46, filled=True).encode(**lay.value("value"), **place, color=pencil),
        told.mark_text(**beside).encode(**lay.value("value"), **place, text=_text("shown"), color=pencil),
    ]


def _datums(lay: _Lay, look: dict[str, Any]) -> Layers:
    """Chain lines from `from` to `to`, pixels along the places, with their words at `from`."""
    datums = Layer(alt.NamedData(name="datums"))
    line = datums.mark_rule(strokeDash=CHAIN, color=INK).encode(**lay.value("value"), **lay.place("from", "to"))
    head = datums.mark_text(color=INK, **look).encode(**lay.value("value"), **lay.place("from"), text=_text("words"))
    return [line, head]
