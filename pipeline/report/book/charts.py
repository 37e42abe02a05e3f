"""The sheet of charts: real ones, over a sheet of the numbers they draw, so that people can copy and change them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pipeline.books import hold
from pipeline.report.book.start import CHARTS
from pipeline.report.book.writing import LOOK, for_paper
from pipeline.report.drawing.pencils import BLUE, GREY, INK, LINE, OCHRE, RED
from pipeline.report.numbers import Interval, cut, natural
from pipeline.report.reading import Results
from pipeline.report.rows.table_rows import LimitCount
from pipeline.report.words.causes import causes
from pipeline.report.words.common import pair
from pipeline.report.words.rates import crews

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

DATA = "Chart numbers"
MOST_BARS, MOST_CREWS, MOST_LABEL = 12, 40, 60
WIDE, HIGH = 26.0, 9.0  # cm of one chart
BAR, AROUND = 0.75, 3.0  # cm of one bar with its gap, and of title and axis
ROW, TOP = 0.53, 3  # cm of one row; the row that the first chart begins in
A_PAGE = 60  # rows on a page upright
HEADS = ("value", "95 % from", "95 % to", "down to it", "up to it")
LINE_WIDTH = 19_000  # in English metric units: 1.5 points


@dataclass(frozen=True)
class Intervals:
    """Values with their intervals. title: what the chart shows, with its unit."""

    title: str
    rows: tuple[tuple[str, Interval], ...]

    @property
    def heads(self) -> tuple[str, ...]:
        """Headings of the numbers."""
        return HEADS

    @property
    def numbers(self) -> list[tuple[str, tuple[float, ...]]]:
        """Value and ends, and how far these lie from it, which is what a chart wants of an interval."""
        return [
            (name, (one.estimate, one.low, one.high, one.estimate - one.low, one.high - one.estimate))
            for name, one in self.rows
        ]


class Bars(Intervals):
    """One bar each, its interval across it."""


class Lines(Intervals):
    """One month each: a line through the values, thin ones through the ends."""


@dataclass(frozen=True)
class Stacks:
    """Counts that make up a whole, one whole a bar. series: the name and the pencil of each part."""

    title: str
    series: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, tuple[int, ...]], ...]

    @property
    def heads(self) -> tuple[str, ...]:
        """Headings of the numbers."""
        return tuple(name for name, _ in self.series)

    @property
    def numbers(self) -> list[tuple[str, tuple[int, ...]]]:
        """The parts of each whole."""
        return list(self.rows)


Chart = Bars | Lines | Stacks


def write_charts(book: "Workbook", results: Results) -> str:
    """Adds the sheet of charts and the one of their numbers; what they show, or nothing where there is none."""
    from openpyxl.worksheet.pagebreak import Break

    charts = [chart for chart in _charts(results) if chart.rows]
    if not charts:
        return ""
    shown, numbers = book.create_sheet(CHARTS, 0), book.create_sheet(DATA)
    shown.sheet_view.showGridLines = False
    hold(shown.cell(1, 1), f"Lines across bars, and thin lines, are 95 % intervals. The numbers stand on {DATA}.")
    first, top, page = 1, TOP, 1
    for chart in charts:
        last = _write_numbers(numbers, first, chart)
        drawn = _drawn(numbers, first, last, chart)
        n_rows = math.ceil(drawn.height / ROW) + 2
        if top + n_rows > page + A_PAGE:
            shown.row_breaks.append(Break(top - 2))
            page = top
        shown.add_chart(drawn, f"A{top}")
        first, top = last + 2, top + n_rows
    numbers.column_dimensions["A"].width = 50
    for_paper(shown)
    shown.page_setup.orientation = "portrait"
    return f"{'; '.join(chart.title for chart in charts)}."


def _charts(results: Results) -> list[Chart]:
    makers = (_causes, _crews, _weak_steps, _limits, _months, _ahead)
    return [make(results) for make in makers]


def _causes(results: Results) -> Bars:
    found = [effect for effect in causes(results.effects()) if effect.is_claimed and effect.avoidable]
    found.sort(key=lambda effect: -(effect.avoidable_per_year or 0.0))
    return Bars("Callbacks spared a year, by cause", _first([(pair(one), one.avoidable) for one in found]))


def _crews(results: Results) -> Bars:
    watched = crews(results.rates())
    found = sorted(watched[:MOST_CREWS], key=lambda rate: natural(rate.crew))
    which = f", the {MOST_CREWS} most watched" if len(watched) > MOST_CREWS else ""
    rows = tuple(_kept([(one.crew, one.per_100) for one in found]))
    return Bars(f"Callbacks per 100 door-years, by crew{which}", rows)


def _weak_steps(results: Results) -> Bars:
    found = sorted((one for one in results.weak_steps() if one.is_worth_it), key=lambda one: -(one.priority or 0.0))
    rows = [(f"{one.crew}, {one.step}", one.gain) for one in found]
    return Bars("Callbacks that practice would spare a year, by crew and step", _first(rows))


def _limits(results: Results) -> Stacks:
    def parts(one: LimitCount) -> tuple[int, ...]:
        return (one.within, one.undecided, one.out)

    used = [one for one in results.limits() if not one.is_for_comparison and one.decided]
    series = (("within", LINE), ("undecided", OCHRE), ("out", RED))
    rows = tuple((cut(one.limit, MOST_LABEL), parts(one)) for one in used)
    return Stacks("Doors against each limit in use, of those measured", series, rows)


def _months(results: Results) -> Lines:
    found = [(one.month, one.per_100) for one in results.months() if one.is_complete]
    return Lines("Callbacks per 100 door-years, by complete month", tuple(_kept(found)))


def _ahead(results: Results) -> Lines:
    found = [(one.month, one.counted) for one in results.outlook() if one.month != "total"]
    return Lines("Callbacks expected, by month to come", tuple(_kept(found)))


def _first(rows: Sequence[tuple[str, Interval | None]]) -> tuple[tuple[str, Interval], ...]:
    return tuple(_kept(rows)[:MOST_BARS])


def _kept(rows: Sequence[tuple[str, Interval | None]]) -> list[tuple[str, Interval]]:
    """Rows that have an interval: without one nothing is drawn."""
    return [(cut(name, MOST_LABEL), found) for name, found in rows if found is not None]


def _write_numbers(sheet: "Worksheet", first: int, chart: Chart) -> int:
    """Writes a chart's title, headings and rows from row `first` on; the last row."""
    from openpyxl.styles import Font

    for column, text in enumerate((chart.title, *chart.heads), 1):
        hold(sheet.cell(first, column), text).font = Font(LOOK, 10, bold=True, color=BLUE[1:])
    for row, (name, values) in enumerate(chart.numbers, first + 1):
        hold(sheet.cell(row, 1), name)
        for column, value in enumerate(values, 2):
            sheet.cell(row, column, value).number_format = "#,##0" if isinstance(value, int) else "0.00"
    return first + len(chart.rows)


def _drawn(numbers: "Worksheet", first: int, last: int, chart: Chart) -> Any:
    makers = {Bars: _bars, Lines: _lines, Stacks: _stacks}
    drawn = makers[type(chart)](numbers, first, last, chart)
    names = _place(numbers, 1, first + 1, last)
    drawn.set_categories(names)
    drawn.title, drawn.width = _title(chart.title), WIDE
    drawn.height = HIGH if isinstance(chart, Lines) else AROUND + BAR * len(chart.rows)
    if not isinstance(chart, Stacks):
        _scale(drawn.y_axis, [found for _, found in chart.rows])
    drawn.x_axis.delete = drawn.y_axis.delete = False
    drawn.y_axis.majorGridlines = None
    return drawn


def _scale(axis: Any, found: list[Interval]) -> None:
    """From zero, or below it where an interval goes there, to beyond every end: a program would cut the longest."""
    highest, lowest = max(one.high for one in found), min(one.low for one in found)
    step = 10 ** math.floor(math.log10(max(highest, -lowest, 1e-3)))
    axis.scaling.max = max(step / 2 * math.ceil(2 * highest / step), step / 2)
    axis.scaling.min = step / 2 * math.floor(2 * lowest / step) if lowest < 0 else 0
    axis.number_format = "General"


def _bars(numbers: "Worksheet", first: int, last: int, chart: Any) -> Any:
    from openpyxl.chart import BarChart

    drawn = _bar_chart(BarChart())
    drawn.add_data(_place(numbers, 2, first, last), titles_from_data=True)
    series = drawn.series[0]
    series.graphicalProperties.solidFill = LINE[1:]
    series.errBars = _interval(numbers, first, last)
    drawn.legend = None
    return drawn


def _interval(numbers: "Worksheet", first: int, last: int) -> Any:
    """The interval across a bar, from the columns of how far its ends lie."""
    from openpyxl.chart.data_source import NumDataSource, NumRef
    from openpyxl.chart.error_bar import ErrorBars
    from openpyxl.chart.shapes import GraphicalProperties

    down, up = (
        NumDataSource(NumRef(f"'{numbers.title}'!${letter}${first + 1}:${letter}${last}")) for letter in ("E", "F")
    )
    bars = ErrorBars(errDir="y", errBarType="both", errValType="cust", noEndCap=False, minus=down, plus=up)
    bars.spPr = GraphicalProperties()
    bars.spPr.ln = _pencil(INK)
    return bars


def _stacks(numbers: "Worksheet", first: int, last: int, chart: Any) -> Any:
    from openpyxl.chart import BarChart

    drawn = _bar_chart(BarChart())
    drawn.grouping, drawn.overlap = "percentStacked", 100
    for column, (_, pencil) in enumerate(chart.series, 2):
        drawn.add_data(_place(numbers, column, first, last), titles_from_data=True)
        drawn.series[-1].graphicalProperties.solidFill = pencil[1:]
    drawn.y_axis.number_format = "0%"
    drawn.legend.position = "b"
    return drawn


def _bar_chart(drawn: Any) -> Any:
    """Bars that lie, so that long names can be read, the first on top."""
    drawn.type, drawn.gapWidth = "bar", 60
    drawn.x_axis.scaling.orientation = "maxMin"
    drawn.y_axis.crosses = "max"  # the numbers stay at the foot
    drawn.x_axis.tickLblPos = "low"
    return drawn


def _lines(numbers: "Worksheet", first: int, last: int, chart: Any) -> Any:
    from openpyxl.chart import LineChart

    drawn = LineChart()
    for column, (pencil, dash) in enumerate(((INK, None), (GREY, "dash"), (GREY, "dash")), 2):
        drawn.add_data(_place(numbers, column, first, last), titles_from_data=True)
        series = drawn.series[-1]
        series.graphicalProperties.line, series.smooth = _pencil(pencil, dash), False
        series.marker.symbol = "none"
    drawn.legend.position = "b"
    return drawn


def _place(numbers: "Worksheet", column: int, first: int, last: int) -> Any:
    from openpyxl.chart import Reference

    return Reference(numbers, min_col=column, max_col=column, min_row=first, max_row=last)


def _pencil(colour: str, dash: str | None = None) -> Any:
    from openpyxl.drawing.line import LineProperties

    return LineProperties(solidFill=colour[1:], w=LINE_WIDTH, prstDash=dash)


def _title(text: str) -> Any:
    """The title in the text's own size, over the drawing and not in it."""
    from openpyxl.chart.text import RichText, Text
    from openpyxl.chart.title import Title
    from openpyxl.drawing.text import CharacterProperties, Paragraph, ParagraphProperties, RegularTextRun

    letters = CharacterProperties(sz=1200, b=True, solidFill=INK[1:])
    run = RegularTextRun(rPr=letters, t=text)
    rich = RichText(p=[Paragraph(pPr=ParagraphProperties(defRPr=letters), r=[run])])
    return Title(tx=Text(rich=rich), overlay=False)
