"""What a run finds otherwise than the last one, as the letter takes it; nothing here rounds."""

from dataclasses import dataclass
from datetime import date

from pipeline.report.catalogue_words import WORDS, fault_words
from pipeline.report.numbers import Interval, interval
from pipeline.report.rows.table_rows import told_apart

RUN_CHANGES = f"""
    SELECT changed.*, {fault_words("changed.fault")} AS fault_words,
        {WORDS.format(table="deviation", name="changed.deviation")} AS words
    FROM run_changes AS changed
    LEFT JOIN catalogue_deviations AS deviation ON deviation.name = changed.deviation
    LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = changed.fault
    ORDER BY changed.kind, deviation.ordinal, changed.fault, changed.crew
"""


@dataclass(frozen=True)
class RunChange:
    """One figure that is not as it was (table `run_changes`). words, fault_words: of a cause."""

    kind: str
    words: str | None
    fault_words: str | None
    crew: str
    state: str | None
    state_before: str | None
    value: float | None
    low: float | None
    high: float | None
    value_before: float | None
    low_before: float | None
    high_before: float | None
    run_before: str
    as_of_before: date

    @property
    def now(self) -> Interval | None:
        """The figure of this run, where it has an interval."""
        return interval(self.value, self.low, self.high, None if self.kind == "rate" else 1.0)

    @property
    def before(self) -> Interval | None:
        """The figure of the last run, where it had an interval."""
        return interval(self.value_before, self.low_before, self.high_before, None if self.kind == "rate" else 1.0)

    @property
    def side(self) -> int:
        """Of a crew: 1 above, -1 below the firm, 0 not told apart."""
        return told_apart(self.state, self.now)

    @property
    def side_before(self) -> int:
        """The same in the last run."""
        return told_apart(self.state_before, self.before)

    @property
    def more(self) -> int:
        """Of a count: how many more than then."""
        return round((self.value or 0.0) - (self.value_before or 0.0))
