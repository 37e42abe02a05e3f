"""What of a crew's callbacks went through each step measured, as the sheets take it; nothing here rounds."""

from dataclasses import dataclass

from pipeline.report.catalogue_words import DEVIATION_WORDS
from pipeline.report.numbers import Interval, interval

# row `all` stands in callback_rates as well
CREW_STEPS = f"""
    SELECT through_steps.crew, through_steps.step, through_steps.step_order, through_steps.ratio, through_steps.low,
        through_steps.high, {DEVIATION_WORDS} AS words
    FROM through_steps
    JOIN catalogue_deviations AS deviation ON deviation.name = through_steps.deviation
    WHERE through_steps.step <> 'all'
    ORDER BY through_steps.crew, through_steps.step_order
"""


@dataclass(frozen=True)
class CrewStep:
    """One crew and step (table `through_steps`). words: the cause of the step that adds most."""

    crew: str
    step: str
    step_order: int
    ratio: float
    low: float
    high: float
    words: str

    @property
    def times(self) -> Interval | None:
        """Callbacks to come of how the step was done, against the firm, given the steps before it."""
        return interval(self.ratio, self.low, self.high, datum=1.0)
