"""What stands first in the callbacks, as the causes sheet takes it; nothing here rounds."""

from dataclasses import dataclass

from pipeline.report.catalogue_words import WORDS, fault_words
from pipeline.report.numbers import Interval, interval

UNEXPLAINED = "unexplained"
FIRST_CAUSES = f"""
    SELECT found.*, {WORDS.format(table="deviation", name="found.deviation")} AS words,
        (
            SELECT string_agg({fault_words("part.fault")}, ', ' ORDER BY part.at)
            FROM (
                SELECT unnest(string_split(found.faults, '; ')) AS fault,
                    generate_subscripts(string_split(found.faults, '; '), 1) AS at
            ) AS part
            LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = part.fault
        ) AS fault_words
    FROM first_causes AS found
    LEFT JOIN catalogue_deviations AS deviation ON deviation.name = found.deviation
    ORDER BY found.deviation = '{UNEXPLAINED}', found.first DESC, found.share DESC, found.deviation
"""


@dataclass(frozen=True)
class FirstCause:
    """One cause, or what none explains (table `first_causes`). fault_words: its faults, the most first."""

    deviation: str
    words: str
    step: str | None
    fault_words: str
    callbacks: int
    first: int
    first_share: float
    first_low: float
    first_high: float
    share: float
    share_low: float
    share_high: float
    shown: float
    cost: float | None
    cost_known: int

    @property
    def is_cause(self) -> bool:
        """Not what none explains."""
        return self.deviation != UNEXPLAINED

    @property
    def is_shown(self) -> bool:
        """A cause that mostly stands on evidence, not on what the trade expects alone."""
        return self.is_cause and self.shown >= self.share / 2

    @property
    def firsts(self) -> Interval | None:
        """Share of the callbacks in which it stands first."""
        return interval(self.first_share, self.first_low, self.first_high, datum=0.0)

    @property
    def part(self) -> Interval | None:
        """Part of all callbacks that it accounts for."""
        return interval(self.share, self.share_low, self.share_high, datum=0.0)
