"""Risk over a measured deviation and the advice on its limit, as the causes sheet takes them; nothing here rounds."""

from dataclasses import dataclass

from pipeline.report.catalogue_words import DEVIATION_WORDS, fault_words
from pipeline.report.numbers import PER_CENT, Interval, interval

CURVE_POINTS = """
    SELECT dose_response.* FROM dose_response
    JOIN limit_advice USING (fault, deviation)
    WHERE limit_advice.evidence = 'strong'
    ORDER BY dose_response.fault, dose_response.deviation, dose_response.value
"""
# advice on every pair with evidence, in step order
ADVICE = f"""
    SELECT limit_advice.*, deviation.worse, {DEVIATION_WORDS} AS words,
        {fault_words("limit_advice.fault")} AS fault_words
    FROM limit_advice
    JOIN catalogue_deviations AS deviation ON deviation.name = limit_advice.deviation
    LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = limit_advice.fault
    WHERE limit_advice.evidence IN ('strong', 'suggestive')
    ORDER BY limit_advice.evidence = 'suggestive', deviation.step_order, deviation.ordinal, limit_advice.fault
"""
RISK = 1.5  # times the risk at the better end, as in limit_risk_1_5


@dataclass(frozen=True)
class CurvePoint:
    """One value of a deviation (table `dose_response`): ratios against the reference, doors within half a step."""

    fault: str
    deviation: str
    value: float
    hazard_ratio: float
    hr_low: float
    hr_high: float
    doors: int
    reference: float
    knots: int

    @property
    def ratio(self) -> Interval:
        """How many times as often the fault comes back as at the reference."""
        return Interval(self.hazard_ratio, self.hr_low, self.hr_high, datum=1.0)


@dataclass(frozen=True)
class LimitAdvice:
    """What the records say of one limit and one fault (table `limit_advice`)."""

    fault: str
    fault_words: str
    deviation: str
    words: str
    unit: str
    worse: str
    evidence: str
    advice: str
    note: str
    limit_now: float | None
    limit_risk_1_5: float | None
    limit_low: float | None
    limit_high: float | None
    limit_cost: float | None
    limit_cost_low: float | None
    limit_cost_high: float | None
    reference: float | None
    data_end: float | None
    limits_in_use: int | None
    limit_share: float | None
    share_beyond: float | None
    rework_cost: float | None
    is_usual_rework: bool | None

    @property
    def at_risk(self) -> Interval | None:
        """The value with 1.5 times the risk, where it and both its ends lie within the data."""
        return interval(self.limit_risk_1_5, self.limit_low, self.limit_high)

    @property
    def cheapest(self) -> Interval | None:
        """The limit that costs least, where both ends of its interval are known."""
        return interval(self.limit_cost, self.limit_cost_low, self.limit_cost_high)

    @property
    def told_in(self) -> tuple[float, str]:
        """What a value is multiplied by to be told, and the unit then behind it: a share is told in per cent."""
        return {"share": (100.0, PER_CENT), "count": (1.0, "")}.get(self.unit, (1.0, f" {self.unit}"))

    @property
    def is_to_move(self) -> bool:
        """The records give a reason to move the limit."""
        return self.advice in ("tighten", "loosen")

    @property
    def is_lower_worse(self) -> bool:
        """Less of it is worse."""
        return self.worse == "lower"
