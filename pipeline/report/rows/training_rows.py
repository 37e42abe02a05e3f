"""Effects of trainings as the training sheet takes them; nothing here rounds."""

from dataclasses import dataclass
from datetime import date

from pipeline.report.numbers import Interval, interval

TRAINING_EFFECTS = """
    SELECT training_effects.*, steps.step_order
    FROM training_effects
    JOIN (SELECT DISTINCT step, step_order FROM catalogue_deviations) AS steps USING (step)
    ORDER BY training_effects.outcome DESC, steps.step_order, training_effects.crew = 'all' DESC, training_effects.crew
"""


@dataclass(frozen=True)
class TrainingEffect:
    """One crew, or all, trained in one step, by one outcome (table `training_effects`)."""

    crew: str
    step: str
    trained_on: date
    outcome: str
    ratio: float | None
    ratio_low: float | None
    ratio_high: float | None
    p_value: float | None
    doors_before: int
    doors_after: int
    sessions: int
    just_before_ratio: float | None
    just_before_low: float | None
    just_before_high: float | None
    doors_just_before: int
    naive_ratio: float | None
    note: str | None

    @property
    def change(self) -> Interval | None:
        """After against before, beside crews not yet trained."""
        return interval(self.ratio, self.ratio_low, self.ratio_high, datum=1.0)

    @property
    def just_before(self) -> Interval | None:
        """The days just before the training against earlier ones."""
        return interval(self.just_before_ratio, self.just_before_low, self.just_before_high, datum=1.0)

    @property
    def is_of_crew(self) -> bool:
        """Of one crew, not of all together."""
        return self.crew != "all"
