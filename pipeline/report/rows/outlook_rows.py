"""The outlook and what stands beside it, as the owner's sheet takes them; nothing here rounds."""

from dataclasses import dataclass
from datetime import date

from pipeline.report.numbers import Interval, interval

OUTLOOK = "SELECT * FROM outlook ORDER BY month = 'total', month"
LATE_PAPER = "SELECT * FROM late_paper ORDER BY month"
BACKTEST = "SELECT * FROM outlook_backtest ORDER BY made_on"
DEVELOPMENT = "SELECT * FROM development ORDER BY cohort = 'total', cohort"
PLAN = """
    SELECT planned_doors_per_month, warranty_months, log_ends_with_warranty,
        (SELECT sum(doors) FROM door_spans WHERE removed_on > as_of)::BIGINT AS doors_out
    FROM settings
"""


@dataclass(frozen=True)
class MonthAhead:
    """One month to come, or all twelve (`total`); table `outlook`."""

    month: str
    callbacks: float | None
    callbacks_low: float | None
    callbacks_high: float | None
    cost: float | None
    cost_low: float | None
    cost_high: float | None
    from_doors_out: float | None
    from_planned: float | None
    cost_known: int

    @property
    def counted(self) -> Interval | None:
        """Callbacks with their interval; none where there is too little to tell."""
        return interval(self.callbacks, self.callbacks_low, self.callbacks_high)

    @property
    def money(self) -> Interval | None:
        """Their cost."""
        return interval(self.cost, self.cost_low, self.cost_high)


@dataclass(frozen=True)
class PaperMonth:
    """One month seen; table `late_paper`."""

    month: str
    reported: int
    arrived_share: float
    corrected: float | None
    corrected_low: float | None
    corrected_high: float | None
    is_over: bool
    is_complete: bool
    complete_to: date
    is_corrected: bool

    @property
    def whole(self) -> Interval | None:
        """Callbacks reported in the month, paper on its way included."""
        return interval(self.corrected, self.corrected_low, self.corrected_high)


@dataclass(frozen=True)
class LookBack:
    """What the outlook would have said on an earlier day, and what came; table `outlook_backtest`."""

    made_on: date
    until_on: date
    callbacks_then: int
    callbacks: float
    callbacks_low: float
    callbacks_high: float
    seen: int
    came: float
    is_inside: bool

    @property
    def foretold(self) -> Interval:
        """The twelve months as they would have been foretold."""
        return Interval(self.callbacks, self.callbacks_low, self.callbacks_high)


@dataclass(frozen=True)
class Cohort:
    """Doors handed over in one period, or all (`total`); table `development`."""

    cohort: str
    doors: int
    callbacks: float
    to_come: float
    low: float | None
    high: float | None
    months_a_period: int

    @property
    def year(self) -> Interval | None:
        """Callbacks of the coming twelve months by the chain ladder."""
        return interval(self.to_come, self.low, self.high)


@dataclass(frozen=True)
class Plan:
    """What the settings say of the months to come, and the doors that are out."""

    planned_doors_per_month: float | None
    warranty_months: float | None
    log_ends_with_warranty: bool
    doors_out: int | None
