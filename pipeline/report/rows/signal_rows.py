"""Early warnings as the owner's sheet takes them; nothing here rounds."""

from dataclasses import dataclass
from datetime import date

SIGNALS = """
    SELECT signals.*, signal_charts.last_signal
    FROM signals
    JOIN signal_charts USING (crew, subject, chart)
    ORDER BY signals."at" DESC, signals.crew, signals.subject, signals.chart
"""
# Only charts that alarmed are drawn.
SIGNAL_POINTS = """
    SELECT signal_points.*
    FROM signal_points
    JOIN signal_charts USING (crew, subject, chart)
    WHERE signal_charts.signals > 0 AND signal_points.value IS NOT NULL
    ORDER BY signal_points."at"
"""
WATCHED = """
    SELECT count(*) FILTER (tested > 0) AS charts, count(*) FILTER (tested = 0) AS too_short,
        coalesce(sum(false_alarms_per_year), 0.0)::DOUBLE AS false_alarms_per_year
    FROM signal_charts
"""


@dataclass(frozen=True)
class Signal:
    """A chart point out of control (table `signals`)."""

    crew: str
    subject: str
    chart: str
    at: date
    since: date
    what: str
    how_much: str
    act: str
    meaning: str
    last_signal: date
    limit: float
    run_length: float

    @property
    def chart_key(self) -> tuple[str, str, str]:
        """Which chart it stands in."""
        return self.crew, self.subject, self.chart

    @property
    def is_last(self) -> bool:
        """The latest of its chart."""
        return self.at == self.last_signal


@dataclass(frozen=True)
class SignalPoint:
    """One point of a chart that alarmed (table `signal_points`)."""

    crew: str
    subject: str
    chart: str
    at: date
    value: float
    limit: float
    is_out: bool


@dataclass(frozen=True)
class Watched:
    """How many charts are watched, how many have too short a past, and how often all together alarm falsely."""

    charts: int
    too_short: int
    false_alarms_per_year: float
