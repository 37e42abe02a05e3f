"""Whether callbacks came more or less often than a year before, as the owner's sheet takes it; nothing here rounds."""

from dataclasses import dataclass

from pipeline.report.numbers import Interval, interval

YEAR_CHANGE = "SELECT * FROM year_change"


@dataclass(frozen=True)
class YearChange:
    """The last twelve months against the twelve before (table `year_change`)."""

    last_month: str
    callbacks: int
    callbacks_before: int
    ratio: float | None
    ratio_low: float | None
    ratio_high: float | None
    is_corrected: bool

    @property
    def times(self) -> Interval | None:
        """How many times as often callbacks came, on doors of the same age."""
        return interval(self.ratio, self.ratio_low, self.ratio_high, datum=1.0)
