"""The rows of the checks on the model itself, typed; nothing here rounds."""

from dataclasses import dataclass
from datetime import date

from pipeline.report.catalogue_words import fault_words
from pipeline.report.numbers import Interval, interval

CHECKS = f"""
    SELECT checks.*, {fault_words("checks.fault")} AS fault_words
    FROM model_checks AS checks
    LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = checks.fault
    ORDER BY checks.fault = 'all' DESC, checks.came DESC, checks.fault
"""


@dataclass(frozen=True)
class ModelCheck:
    """One fault, or `all`, foretold by the plain model and by its challenger (table `model_checks`)."""

    fault: str
    fault_words: str
    cut_on: date
    doors: int
    before: int
    came: int
    c_plain: float | None
    c_plain_low: float | None
    c_plain_high: float | None
    c_challenger: float | None
    c_challenger_low: float | None
    c_challenger_high: float | None
    c_gain: float | None
    c_gain_low: float | None
    c_gain_high: float | None
    slope_plain: float | None
    slope_plain_low: float | None
    slope_plain_high: float | None
    slope_challenger: float | None
    slope_challenger_low: float | None
    slope_challenger_high: float | None
    level_plain: float | None
    level_plain_low: float | None
    level_plain_high: float | None
    level_challenger: float | None
    level_challenger_low: float | None
    level_challenger_high: float | None
    verdict: str
    look_at: str | None
    note: str

    @property
    def is_all(self) -> bool:
        """Every fault that both learned."""
        return self.fault == "all"

    @property
    def name(self) -> str:
        """The fault in plain words."""
        return "all faults together" if self.is_all else self.fault_words

    @property
    def order_plain(self) -> Interval | None:
        """Share of pairs in which the door that came back first had been given the higher risk."""
        return interval(self.c_plain, self.c_plain_low, self.c_plain_high, datum=0.5)

    @property
    def order_challenger(self) -> Interval | None:
        """The same by the challenger."""
        return interval(self.c_challenger, self.c_challenger_low, self.c_challenger_high, datum=0.5)

    @property
    def order_gain(self) -> Interval | None:
        """The challenger's less the plain model's."""
        return interval(self.c_gain, self.c_gain_low, self.c_gain_high, datum=0.0)

    @property
    def apart_plain(self) -> Interval | None:
        """How large differences between doors came out, over how large they were foretold."""
        return interval(self.slope_plain, self.slope_plain_low, self.slope_plain_high, datum=1.0)

    @property
    def apart_challenger(self) -> Interval | None:
        """The same by the challenger."""
        return interval(self.slope_challenger, self.slope_challenger_low, self.slope_challenger_high, datum=1.0)

    @property
    def level_of_plain(self) -> Interval | None:
        """Callbacks that came over those foretold."""
        return interval(self.level_plain, self.level_plain_low, self.level_plain_high, datum=1.0)

    @property
    def level_of_challenger(self) -> Interval | None:
        """The same by the challenger."""
        return interval(self.level_challenger, self.level_challenger_low, self.level_challenger_high, datum=1.0)
