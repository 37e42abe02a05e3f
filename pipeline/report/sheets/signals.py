"""The part of the owner's sheet about early warnings: the charts out of control, or that none is."""

from pipeline.report.charts.signals import signal_chart
from pipeline.report.downloads import download
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import day
from pipeline.report.reading import Results
from pipeline.report.rows.signal_rows import Signal, SignalPoint
from pipeline.report.rows.table_rows import Firm
from pipeline.report.sheet import Block, Figure, Passage, Table
from pipeline.report.words import signals as words

MOST_DRAWN = 6
MOST_ROWS = 400
COLUMNS = ("alarm on", "since", "crew", "about", "chart", "what it means", "alarms falsely")


def signal_blocks(results: Results, firm: Firm) -> list[Block]:
    """Heading, a small chart for each of the latest, and the table behind."""
    signals, watched = results.signals(), results.charts_watched()
    recent = words.recent(signals, firm.as_of)
    drawn = recent[:MOST_DRAWN]
    paragraphs = tuple(words.what_is_watched(watched, len(drawn), len(signals) - len(drawn)))
    passage = Passage("signals", words.signals_say(recent, watched), paragraphs)
    points = _by_chart(results.signal_points()) if drawn else {}
    figures = [_figure(number, signal, points[signal.chart_key]) for number, signal in enumerate(drawn, 1)]
    return [passage, *figures, *([_table(signals, results)] if signals else [])]


def _by_chart(points: list[SignalPoint]) -> dict[tuple[str, str, str], list[SignalPoint]]:
    charts: dict[tuple[str, str, str], list[SignalPoint]] = {}
    for point in points:
        charts.setdefault((point.crew, point.subject, point.chart), []).append(point)
    return charts


def _figure(number: int, signal: Signal, points: list[SignalPoint]) -> Figure:
    says, key = words.says(signal), f"signal-{number}"
    title = f"Control chart of {words.subject(signal)}, {words.whose(signal)}"
    drawing = draw(lambda is_narrow: signal_chart(signal, points, is_narrow), key, title, says)
    return Figure(key, says, words.how(signal), drawing, words.act(signal))


def _table(signals: list[Signal], results: Results) -> Table:
    rows = tuple(
        (
            day(signal.at),
            day(signal.since),
            words.whose(signal),
            words.subject(signal),
            signal.chart,
            signal.meaning,
            words.points_between(signal),
        )
        for signal in signals[:MOST_ROWS]
    )
    saved = download("signals", results.table("signals"))
    return Table("alarms", words.table_says(signals), COLUMNS, rows, "", frozenset(), saved)
