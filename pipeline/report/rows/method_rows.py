"""The rows of the methods sheet, typed."""

from dataclasses import dataclass

from pipeline.report.catalogue_words import DEVIATION_WORDS, fault_words
from pipeline.report.numbers import Interval, interval

OTHER_WAYS = f"""
    SELECT seen.*, {fault_words("seen.fault")} AS fault_words,
        {DEVIATION_WORDS} AS words, effects.evidence
    FROM effect_sensitivity AS seen
    JOIN effects USING (fault, deviation)
    JOIN catalogue_deviations AS deviation ON deviation.name = seen.deviation
    LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = seen.fault
    ORDER BY
        effects.evidence = 'strong' DESC, effects.contrast_low DESC, seen.fault, seen.deviation,
        seen.what = 'as reported' DESC, seen.verdict IS NULL, seen.what
"""
BLURS = f"""
    SELECT blur.*, {fault_words("blur.fault")} AS fault_words,
        {DEVIATION_WORDS} AS words, effects.contrast_ratio AS reported, effects.contrast_low AS reported_low,
        effects.contrast_high AS reported_high
    FROM instrument_blur AS blur
    JOIN effects USING (fault, deviation)
    JOIN catalogue_deviations AS deviation ON deviation.name = blur.deviation
    LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = blur.fault
    ORDER BY blur.reliability IS NULL, blur.reliability, blur.fault, blur.deviation
"""


@dataclass(frozen=True)
class OtherWay:
    """One finding seen in one way (table `effect_sensitivity`); the way `as reported` comes first."""

    fault: str
    fault_words: str
    deviation: str
    words: str
    evidence: str
    what: str
    doors: int
    events: int
    ratio: float | None
    ratio_low: float | None
    ratio_high: float | None
    share: float | None
    share_low: float | None
    share_high: float | None
    e_value: float | None
    e_value_low: float | None
    verdict: str | None

    @property
    def pair(self) -> tuple[str, str]:
        """The finding: fault and deviation."""
        return self.fault, self.deviation

    @property
    def is_as_reported(self) -> bool:
        """The finding itself."""
        return self.what == "as reported"

    @property
    def times(self) -> Interval | None:
        """How many times as often the fault comes back, seen so."""
        return interval(self.ratio, self.ratio_low, self.ratio_high, datum=1.0)

    @property
    def spared(self) -> Interval | None:
        """Share of the fault's callbacks that would be spared at the limit."""
        return interval(self.share, self.share_low, self.share_high, datum=0.0)


@dataclass(frozen=True)
class Blur:
    """What the instruments' own scatter hides of one finding (table `instrument_blur`), beside what was reported."""

    fault: str
    fault_words: str
    deviation: str
    words: str
    reliability: float | None
    ratio: float | None
    ratio_low: float | None
    ratio_high: float | None
    reported: float
    reported_low: float
    reported_high: float
    doors: int
    doors_known: int
    doors_repeated: int
    verdict: str
    note: str

    @property
    def corrected(self) -> Interval | None:
        """How many times as often, had the instruments no scatter."""
        return interval(self.ratio, self.ratio_low, self.ratio_high, datum=1.0)

    @property
    def times(self) -> Interval | None:
        """How many times as often, as reported."""
        return interval(self.reported, self.reported_low, self.reported_high, datum=1.0)
