"""The rows of the section on where an effect differs, typed."""

from dataclasses import dataclass
from math import exp

from pipeline.report.catalogue_words import DEVIATION_WORDS, fault_words
from pipeline.report.numbers import Interval, interval

# what differs first, then the surest finding, in the order of the doors' parts
PARTS = f"""
    SELECT part.*, {fault_words("part.fault")} AS fault_words,
        {DEVIATION_WORDS} AS words
    FROM effect_by AS part
    JOIN effects USING (fault, deviation)
    JOIN catalogue_deviations AS deviation ON deviation.name = part.deviation
    LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = part.fault
    ORDER BY
        min(part.q_differ) OVER (PARTITION BY part.fault, part.deviation, part."by") <= 0.05 DESC NULLS LAST,
        effects.evidence = 'strong' DESC, effects.contrast_low DESC, part.fault, part.deviation, part."by",
        part.level = 'all' DESC, part.level
"""


@dataclass(frozen=True)
class EffectPart:
    """One found cause in one part of the doors (table `effect_by`): a crew, a material, a season, or all crews."""

    fault: str
    fault_words: str
    deviation: str
    words: str
    by: str
    level: str
    ratio: float | None
    ratio_low: float | None
    ratio_high: float | None
    spread: float | None
    spread_high: float | None
    doors: int
    events: int
    q_differ: float | None
    verdict: str

    @property
    def asked(self) -> tuple[str, str, str]:
        """The question that its row answers with others: fault, deviation, and by what the doors are parted."""
        return self.fault, self.deviation, self.by

    @property
    def is_all_crews(self) -> bool:
        """The row of all crews together."""
        return self.by == "crew" and self.level == "all"

    @property
    def times(self) -> Interval | None:
        """How many times as often the fault comes back, in this part."""
        return interval(self.ratio, self.ratio_low, self.ratio_high, datum=1.0)

    @property
    def factor(self) -> float | None:
        """Two crews in three lie within this factor of the common ratio."""
        return exp(self.spread) if self.spread is not None else None

    @property
    def factor_high(self) -> float | None:
        """Its upper 95 % limit."""
        return exp(self.spread_high) if self.spread_high is not None else None
