"""The rows that pages are made of: what reading.py takes from results.duckdb, typed. Nothing here reads or rounds."""

from dataclasses import dataclass
from datetime import date

from pipeline.report.numbers import Interval, interval

LEAST_DOORS = 10  # below this a share of doors is too few to tell anything by
LEAST_DOOR_YEARS = 1.0
SHOWN = ("strong", "suggestive")  # grades of evidence that something is shown with


def _rate(door_years: float, rate: float | None, low: float | None, high: float | None) -> Interval | None:
    return interval(rate, low, high) if door_years >= LEAST_DOOR_YEARS else None


@dataclass(frozen=True)
class Firm:
    """Whose records these are and what they hold. door_years, rate and the rest come from the row `all`."""

    firm: str | None
    currency: str | None
    as_of: date | None
    callbacks_from: date | None
    doors: int
    crews: int
    first_fitted_on: date | None
    last_fitted_on: date | None
    callbacks: int
    run: str | None
    has_callback_log: bool


@dataclass(frozen=True)
class Effect:
    """One pair of a fault and a deviation (table `effects`), with the catalogue's words beside it."""

    fault: str
    fault_words: str
    deviation: str
    words: str
    do: str
    step: str
    step_order: int
    unit: str
    worse: str
    role: str
    family: str
    is_check: bool
    is_expected: bool
    evidence: str
    note: str | None
    doors: int
    events: int
    recorded_share: float | None
    per: float
    hazard_ratio: float | None
    hr_low: float | None
    hr_high: float | None
    contrast_ratio: float | None
    contrast_low: float | None
    contrast_high: float | None
    contrast_from: float | None
    contrast_to: float | None
    between_ratio: float | None
    q_value: float | None
    attributable_share: float | None
    attributable_low: float | None
    attributable_high: float | None
    avoidable_per_year: float | None
    avoidable_low: float | None
    avoidable_high: float | None
    avoidable_cost_per_year: float | None
    doubted_doors: int | None
    ratio_without_doubtful: float | None
    doors_needed: int | None

    @property
    def doors_missing(self) -> int:
        """Doors still to be recorded for an answer, to two digits; 0 where that is not known."""
        missing = (self.doors_needed or self.doors) - self.doors
        return 0 if missing < 1 else max(round(missing, 2 - len(str(missing))), 1)

    @property
    def stands_without_doubtful(self) -> bool:
        """The direction stays the same once the readings of crews whose records are in doubt are left out."""
        if self.ratio_without_doubtful is None or self.contrast_ratio is None:
            return False
        return (self.ratio_without_doubtful >= 1) == (self.contrast_ratio >= 1)

    @property
    def ratio(self) -> Interval | None:
        """How many times as often the fault comes back on doors that are worse (10th against 90th percentile)."""
        return interval(self.contrast_ratio, self.contrast_low, self.contrast_high, datum=1.0)

    @property
    def per_unit(self) -> Interval | None:
        """The same for `per` more of the value as stored, whichever direction is the worse."""
        return interval(self.hazard_ratio, self.hr_low, self.hr_high, datum=1.0)

    @property
    def avoidable(self) -> Interval | None:
        """Callbacks a year that would be spared were the deviation at its limit."""
        return interval(self.avoidable_per_year, self.avoidable_low, self.avoidable_high, datum=0.0)

    @property
    def is_answered(self) -> bool:
        """The records were enough to say something, be it `none`."""
        return self.evidence != "too_few"

    @property
    def is_claimed(self) -> bool:
        """Strong or suggestive, in the worse direction, with an interval that does not hold `no effect`."""
        return self.evidence in SHOWN and self.ratio is not None and self.ratio.side > 0


@dataclass(frozen=True)
class LimitCount:
    """How the doors stand against one limit (table `limit_comparison`)."""

    limit: str
    deviation: str
    words: str
    step: str
    step_order: int
    source: str
    edition: str
    status: str
    doors: int
    within: int
    out: int
    undecided: int
    not_recorded: int
    out_share: float | None
    out_low: float | None
    out_high: float | None

    @property
    def share(self) -> Interval | None:
        """The doors out, of those with readings."""
        return interval(self.out_share, self.out_low, self.out_high)

    @property
    def is_for_comparison(self) -> bool:
        """Shown beside the limit in use; it decides nothing."""
        return self.status == "for comparison"

    @property
    def decided(self) -> int:
        """Doors with the deviation recorded."""
        return self.doors - self.not_recorded


@dataclass(frozen=True)
class WeakStep:
    """One crew in one step (table `weak_steps`). Shares are of doors with anything recorded in the step."""

    crew: str
    step: str
    step_order: int
    doors: int
    doors_out: int
    out_share: float | None
    out_low: float | None
    out_high: float | None
    shrunk_share: float | None
    shrunk_low: float | None
    shrunk_high: float | None
    firm_out_share: float | None
    firm_out_low: float | None
    firm_out_high: float | None
    avoidable_per_year: float | None
    priority: float | None
    priority_low: float | None
    priority_high: float | None

    @property
    def gain(self) -> Interval | None:
        """Callbacks a year spared if the crew worked as the firm's better half does in the step."""
        return interval(self.priority, self.priority_low, self.priority_high, datum=0.0)

    @property
    def is_worth_it(self) -> bool:
        """The crew recorded the step, and the whole interval lies above nothing."""
        return self.doors > 0 and self.gain is not None and self.gain.side > 0

    @property
    def share(self) -> Interval | None:
        """The crew's own share of doors with something out, against the firm's."""
        return interval(self.out_share, self.out_low, self.out_high, datum=self.firm_out_share)

    @property
    def firm(self) -> Interval | None:
        """The share of the firm's doors with something out in the step."""
        return interval(self.firm_out_share, self.firm_out_low, self.firm_out_high)

    @property
    def shrunk(self) -> Interval | None:
        """The share to expect of the crew's next doors: its own, drawn towards the firm's."""
        return interval(self.shrunk_share, self.shrunk_low, self.shrunk_high, datum=self.firm_out_share)

    @property
    def side(self) -> int:
        """1: more often out than the firm, -1: less often, 0: cannot be told. Both intervals must clear the firm's."""
        if self.doors < LEAST_DOORS:
            return 0
        sides = {part.side if part else 0 for part in (self.share, self.shrunk)}
        return sides.pop() if len(sides) == 1 else 0


@dataclass(frozen=True)
class CrewOut:
    """What was out, by crew and deviation (table `crew_outs`).

    is_step_judged  something of the step is held against a limit in use, or checked
    """

    crew: str
    deviation: str
    words: str
    do: str
    step: str
    doors: int
    doors_out: int
    is_step_judged: bool


@dataclass(frozen=True)
class CrewRate:
    """One crew (table `callback_rates`). Rates are callbacks per 100 door-years."""

    crew: str
    doors: int
    door_years: float
    callbacks: int
    callbacks_all: int
    cost: float | None
    cost_known: int
    rate: float | None
    rate_low: float | None
    rate_high: float | None
    expected: float | None
    fair_ratio: float | None
    fair_low: float | None
    fair_high: float | None
    steps_ratio: float | None
    steps_low: float | None
    steps_high: float | None
    rest_ratio: float | None
    rest_low: float | None
    rest_high: float | None
    place_low: int | None
    place_high: int | None
    crews_compared: int | None
    direct_rate: float | None
    direct_low: float | None
    direct_high: float | None
    direct_note: str | None
    funnel: str

    @property
    def per_100(self) -> Interval | None:
        """The crew's rate as it is; none where doors were watched for less than a year together."""
        return _rate(self.door_years, self.rate, self.rate_low, self.rate_high)

    @property
    def fair(self) -> Interval | None:
        """Callbacks against what the firm as a whole would have had on the same doors."""
        return interval(self.fair_ratio, self.fair_low, self.fair_high, datum=1.0)

    @property
    def through(self) -> Interval | None:
        """The part of it that goes through the steps measured."""
        return interval(self.steps_ratio, self.steps_low, self.steps_high, datum=1.0)

    @property
    def left(self) -> Interval | None:
        """What is left with that allowed for."""
        return interval(self.rest_ratio, self.rest_low, self.rest_high, datum=1.0)

    @property
    def direct(self) -> Interval | None:
        """The rate that the crew would have on the firm's mix of doors; none where it never met that mix."""
        return _rate(self.door_years, self.direct_rate, self.direct_low, self.direct_high)

    @property
    def side(self) -> int:
        """1 above, -1 below the firm, 0 not told apart."""
        return told_apart(self.funnel, self.fair)

    @property
    def hint(self) -> int:
        """The same where only the fair interval says so: within what is usual between crews, but perhaps not alike."""
        return self.fair.side if self.fair is not None and not self.side else 0


def told_apart(funnel: str | None, fair: Interval | None) -> int:
    """1 above, -1 below the firm, 0 not told apart. Both the funnel and the fair interval must say so."""
    side = {"above": 1, "below": -1}.get(funnel or "", 0)
    return side if fair is not None and fair.side == side else 0


@dataclass(frozen=True)
class Month:
    """One calendar month (table `callback_months`). is_complete: nearly all paper about it has arrived."""

    month: str
    callbacks: int
    callbacks_all: int
    door_years: float
    rate: float | None
    rate_low: float | None
    rate_high: float | None
    cost: float | None
    is_complete: bool

    @property
    def per_100(self) -> Interval | None:
        """Callbacks per 100 door-years in that month; none where doors were watched for less than a year together."""
        return _rate(self.door_years, self.rate, self.rate_low, self.rate_high)


@dataclass(frozen=True)
class Tally:
    """A name and how many rows bear it."""

    name: str
    rows: int


@dataclass(frozen=True)
class RecordedShare:
    """On how many doors a deviation is recorded (table `recorded_shares`)."""

    deviation: str
    words: str
    step: str
    step_order: int
    role: str
    is_check: bool
    doors: int
    doors_recorded: int
    doors_out: int

    @property
    def share(self) -> float:
        """Of all doors."""
        return self.doors_recorded / self.doors if self.doors else 0.0
