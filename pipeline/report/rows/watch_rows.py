"""The rows of the crews' sheets, typed: what each crew watches, its limits, which way it usually errs."""

from dataclasses import dataclass

from pipeline.report.catalogue_words import DEVIATION_WORDS, fault_words
from pipeline.report.numbers import Interval, interval

WATCH_LIST = f"""
    SELECT watch_list.*, {DEVIATION_WORDS} AS words, deviation."do", deviation.minutes, deviation.unit,
        deviation.how = 'checks' AS is_check,
        CASE WHEN watch_list.fault IS NOT NULL THEN {fault_words("watch_list.fault")} END AS fault_words
    FROM watch_list
    JOIN catalogue_deviations AS deviation ON deviation.name = watch_list.deviation
    LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = watch_list.fault
    ORDER BY watch_list.crew, watch_list.place
"""
# Of the rows of one limit for the same doors the latest holds; a firm's own go before the built-in ones.
LIMITS_IN_USE = """
    SELECT row.deviation, row.low, row.high, row.high_per_m, row.along, row.product, row.material, row.source
    FROM catalogue_limits AS row, settings
    WHERE row.status = 'in use' AND row.unless_recorded IS NULL
        AND (row.starts_on IS NULL OR row.starts_on <= settings.as_of)
        AND (row.is_own OR NOT EXISTS (
            FROM catalogue_limits AS own
            WHERE own.is_own AND own.status = 'in use' AND own.deviation = row.deviation
                AND (own.starts_on IS NULL OR own.starts_on <= settings.as_of)
        ))
    QUALIFY row_number() OVER (
        PARTITION BY row.deviation, row.name, row.product, row.material ORDER BY row.starts_on DESC NULLS LAST
    ) = 1
    ORDER BY row.deviation, row.product IS NOT NULL OR row.material IS NOT NULL, row.name, row.product, row.material
"""
GAPS = "SELECT material, colour, up_to_mm, gap_mm FROM catalogue_gaps ORDER BY material, colour, up_to_mm"
USUAL_SIDES = """
    SELECT sides.*, deviation.unit
    FROM usual_sides AS sides
    JOIN catalogue_deviations AS deviation ON deviation.name = sides.deviation
    ORDER BY sides.crew, deviation.ordinal, sides.measure, sides.member
"""


@dataclass(frozen=True)
class WatchedThing:
    """One thing that a crew watches (table `watch_list`), with the catalogue's words beside it."""

    crew: str
    place: int
    deviation: str
    words: str
    do: str
    step: str
    why: str
    fault_words: str | None
    evidence: str | None
    doors: int
    doors_out: int
    doors_undecided: int
    minutes: float
    unit: str
    is_check: bool


@dataclass(frozen=True)
class LimitInUse:
    """One limit in use, in the deviation's unit; product, material: it holds for these only."""

    deviation: str
    low: float | None
    high: float | None
    high_per_m: float | None
    along: str | None
    product: str | None
    material: str | None
    source: str


@dataclass(frozen=True)
class Gap:
    """The recommended gap to the wall, mm, for openings up to a width (table `catalogue_gaps`)."""

    material: str
    colour: str | None
    up_to_mm: float
    gap_mm: float


@dataclass(frozen=True)
class UsualSide:
    """Which way a crew errs in one place (table `usual_sides`). side: 1, -1, 0 none shown, None too few doors."""

    crew: str
    deviation: str
    measure: str
    member: str
    doors: int
    doors_plus: int
    doors_minus: int
    mean: float
    mean_low: float | None
    mean_high: float | None
    side: int | None
    unit: str

    @property
    def place(self) -> str:
        """Measure and member, by which its words are found."""
        return f"{self.measure} {self.member}".strip()

    @property
    def average(self) -> Interval | None:
        """The mean over the crew's doors with its sign."""
        return interval(self.mean, self.mean_low, self.mean_high, datum=0.0)

    @property
    def size(self) -> Interval | None:
        """The same without its sign, towards the usual side."""
        if self.mean_low is None or self.mean_high is None:
            return None
        ends = sorted((self.mean_low, self.mean_high), key=abs)
        return interval(abs(self.mean), abs(ends[0]), abs(ends[1]), datum=0.0)
