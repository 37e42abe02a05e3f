"""What stands in a column: days, numbers, ticks, ids that repeat; the unit its numbers can be in."""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from itertools import pairwise
from statistics import median

from pipeline.catalogue import Catalogue
from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.sheet.body import DITTO
from pipeline.ingest.matching.sheet.grid import Cell, shown
from pipeline.ingest.matching.words.mark_pairs import MARKS
from pipeline.ingest.matching.words.vocabulary import outcome_of
from pipeline.ingest.texts.clock_hours import CLOCK, hours_of
from pipeline.ingest.texts.dates import days_in_year, is_yearless, possible_days
from pipeline.ingest.texts.directions import without_way
from pipeline.ingest.texts.not_said import NOTHING
from pipeline.ingest.texts.numbers import straight_marks
from pipeline.ingest.texts.words import answer_in

MOST_CELLS = 3000
# From this share of its filled cells on, a column is taken for one of dates.
_MOSTLY = 0.6
_DAY = re.compile(r"\d{1,4}[-/. ](?:\d{1,2}|[^\W\d_]{3,9})[-/. ,]+\d{1,4}(?:[T ].*)?", re.ASCII)
# What stands in days that are not written in digits alone: 3rd March 2025, Mon 3/3/25, 3.3.25 am.
_IN_DAYS = re.compile(
    r"\d.*(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|"
    r"mon|tue|wed|thu|fri|sat|sun).*\d|\d.*[ap]\.?m",
    re.IGNORECASE,
)
_LONGEST_DAY = 40
# A day and a month in digits, in a year that has every day of them.
_BARE_DAY, _LEAP_YEAR = re.compile(r"\d{1,2}/\d{1,2}"), 2024
_ENDS = r"""(?:mm|cm|m|in|"|''|kg|n|°?c|deg(?:s|rees)?|l|r|h|hrs?|[£$€])?"""
_NUMBER = re.compile(rf"[£$€]?\s?[+-]?\s?\d[\d.,]*(?:\s*/\s*\d+)?(?:[ -]\d+/\d+)?\s*{_ENDS}", re.IGNORECASE)
_FRACTION = re.compile(
    r"[+-]?\s?(?:(?:\d+[ -])?\d+\s*/\s*(?:2|4|8|16|32)(?:ths?|nds?)?|\d*\s?[¼-¾⅐-⅞])\s*(?:\"|''|″|in(?:s|ch|ches)?)?",
    re.ASCII,
)
# 13' 9 1/2", 13'-9", 13 ft 9, 13'
_FEET = re.compile(
    r"\d+\s*(?:'|ft\.?|foot|feet)[ -]*(?:\d+(?:[ -]\d+/\d+|\s?[¼-¾⅐-⅞]|\.\d+)?\s*(?:\"|''|in(?:s|ch|ches)?\.?)?)?",
    re.IGNORECASE,
)
# As evidence of size only: 4,200 is what it looks like where all numbers of the column are so large.
_THOUSANDS = re.compile(r"\d{1,3}(?:[,.]\d{3})+")
_PLAIN = re.compile(r"([+-]?\s?\d+(?:[.,]\d{1,2}|\.\d+)?)\s*(mm|cm|m|in|kg|N|\")?", re.IGNORECASE)
# 4.932,5 and 4,932.5
_GROUPED = re.compile(r"([+-]?\d{1,3}(?:([.,])\d{3})+)(?!\2)([.,])(\d+)\s*(mm|cm|m|in|kg|N|\")?", re.IGNORECASE)
_NAMED = re.compile(
    r"""[+-]?\s?(?:\d+\s*(?:'|ft\.?|foot|feet)[ -]*)?[\d.,/ ¼-¾⅐-⅞-]*[\d¼-¾⅐-⅞]\s*"""
    r"""(mm|cm|m|in(?:s|ch|ches)?|"|''|'|ft|foot|feet)\.?""",
    re.IGNORECASE,
)
_FEET_BESIDE = ("'", "ft", "foot", "feet")
_IN_INCHES = re.compile(r"[(\[](?:in|ins|inches|ft|feet)[)\]]|\binches\b", re.IGNORECASE)
_INCH_MARK = re.compile(r"[\d¼-¾⅐-⅞]\s*(?:\"|'|″|in\b)", re.IGNORECASE)
# From this share on, a column of small numbers counts leaves up, row by row.
LEAF_STEPS = 0.4
# Answers to a check that are no words for its outcome: shapes, and what may be either.
_TICKS = frozenset({"x", "✓", "✔", "✗", "✘", "☑", "✅", "❌", "❎", "true", "false"})
# What a folding door's sizes usually are, in mm: only for telling units apart, never for refusing a value.
USUAL = {
    "width_mm": (600, 9500), "height_mm": (1500, 4000), "glass_mm": (4, 80), "aperture_width": (600, 9500),
    "aperture_height": (1500, 4000), "aperture_diagonal": (1600, 10500), "frame_width": (600, 9500),
    "frame_height": (1500, 4000), "frame_diagonal": (1600, 10500), "clear_height": (1500, 4000),
    "leaf_diagonal": (1500, 4500), "head_gap": (0.5, 30), "threshold_gap": (0.5, 30), "side_gap": (0.5, 30),
    "perimeter_gap": (1, 60), "leaf_weight_kg": (10, 300), "fixing": (40, 9500), "packer": (40, 9500),
}  # fmt: skip
_LEAF_WIDTH = (400, 1300)
_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
# Below this share of numbers within what is usual, a unit does not fit a column.
_MOST_FIT = 0.9


@dataclass(frozen=True)
class Evidence:
    """Shares are of the filled cells. values: the numbers, without units; repeats: share of neighbours that are equal.

    steps  share of neighbours that count up by one
    clock  share of cells such as 1:30; spelt_hours: of those and of cells such as 1h30
    marks  share of ticks and of marks that mean something beside one another
    wordy  share of cells that are sentences of three words and more
    texts  the different cells, in small letters
    units  units that most cells name themselves
    bare   of the numbers, those beside which no unit stands
    named  how many cells name each unit, inches by a mark too
    """

    filled: int
    blank: float
    days: float
    numbers: float
    ticks: float
    fractions: float
    values: tuple[float, ...]
    distinct: int
    repeats: float
    dittos: int
    steps: float
    units: tuple[str, ...]
    longest: int
    wordy: float = 0.0
    marks: float = 0.0
    clock: float = 0.0
    spelt_hours: float = 0.0
    texts: frozenset[str] = frozenset()
    bare: tuple[float, ...] = ()
    named: Mapping[str, int] = field(default_factory=dict)

    @property
    def are_days(self) -> bool:
        """Whether the column is one of dates."""
        return self.days >= _MOSTLY

    @property
    def told(self) -> str:
        """What stands in the column, in a few words."""
        if not self.filled:
            return "empty"
        if self.are_days:
            return "dates"
        if self.ticks >= 0.6:
            return "ticks"
        if self.numbers >= 0.6:
            return f"numbers around {median(self.values):g}" if self.values else "numbers"
        return f"{self.distinct} different texts" if self.distinct > 1 else "one text"


@lru_cache(maxsize=50_000)
def _is_day(text: str) -> bool:
    """Whether a text is written as a day; inches and a fraction (106 7/8) are none."""
    if _DAY.fullmatch(text):
        return not _FRACTION.fullmatch(text)
    if len(text) <= _LONGEST_DAY and any(map(str.isalpha, text)) and is_yearless(text):
        return True
    return len(text) <= _LONGEST_DAY and bool(_IN_DAYS.search(text) and possible_days(text))


def _days_of_months(texts: Iterable[str]) -> set[str]:
    """Of texts such as 14/2 those that are days without their year: none where all may be fractions of an inch."""
    bare = {text for text in texts if _BARE_DAY.fullmatch(text) and days_in_year(text, _LEAP_YEAR)}
    return bare if any(not _FRACTION.fullmatch(text) for text in bare) else set()


@lru_cache(maxsize=50_000)
def is_tick(text: str) -> bool:
    """Whether a text is an answer to a check."""
    folded = (answer_in(text) or text).casefold()
    return folded in _TICKS or folded in NOTHING or outcome_of(folded) is not None


def _unit_named(text: str) -> str | None:
    """The unit of length behind a number."""
    found = _NAMED.fullmatch(text)
    unit = found[1].casefold() if found else None
    return None if unit is None else unit if unit in _MM else "ft" if unit in _FEET_BESIDE else "in"


@lru_cache(maxsize=50_000)
def _plain_number(text: str) -> tuple[float, str | None] | None:
    """(the number, the unit behind it) of a text that leaves no doubt of its decimals; None for any other."""
    if one := _PLAIN.fullmatch(text):
        return float(one[1].replace(",", ".").replace(" ", "")), one[2]
    if one := _GROUPED.fullmatch(text):
        return float(re.sub("[.,]", "", one[1]) + "." + one[4]), one[5]
    return None


def look_at(cells: list[Cell]) -> Evidence:
    """The evidence of a column's cells."""
    cells = cells[:MOST_CELLS]
    texts = [straight_marks(typed_number(shown(cell))) for cell in cells]
    own = _own(cells, texts)
    n = max(1, len(own))
    pairs = [(a, b) for a, b in pairwise(texts) if a and b]
    found = [one for _, text in own if (one := _plain_number(text))]
    plain = [number for number, _ in found]
    plain = plain or [float(re.sub(r"\D", "", text)) for _, text in own if _THOUSANDS.fullmatch(text)]
    named = [unit.casefold().replace('"', "in") for _, unit in found if unit]

    # each different text is looked at once, however many cells hold it
    counts = Counter(text for _, text in own)
    typed_days = {text for cell, text in own if isinstance(cell, date | datetime)} | _days_of_months(counts)

    def share(is_one: Callable[[str], object]) -> float:
        return sum(times for text, times in counts.items() if is_one(text)) / n

    return Evidence(
        filled=len(own),
        blank=1 - len([text for text in texts if text]) / max(1, len(texts)),
        days=share(lambda text: text in typed_days or _is_day(text)),
        numbers=share(lambda text: _NUMBER.fullmatch(text) or _FEET.fullmatch(text) or _FRACTION.fullmatch(text)),
        ticks=share(is_tick),
        fractions=share(lambda text: _FRACTION.fullmatch(text) or _FEET.fullmatch(text)),
        values=tuple(plain),
        distinct=len({text.casefold() for text in counts}),
        repeats=sum(a == b for a, b in pairs) / max(1, len(pairs)),
        dittos=sum(text.casefold() in DITTO for text in texts),
        steps=sum(b - a == 1 for a, b in pairwise(plain)) / max(1, len(plain) - 1),
        units=tuple(dict.fromkeys(named)) if len(named) > 0.5 * n else (),
        named=_added((_unit_named(text), times) for text, times in counts.items()),
        longest=max(map(len, counts), default=0),
        clock=share(CLOCK.fullmatch),
        spelt_hours=share(lambda text: hours_of(text) is not None),
        marks=share(lambda text: text.casefold() in MARKS or is_tick(text)),
        wordy=share(lambda text: len(text.split()) >= 3),
        texts=frozenset(text.casefold() for text in texts if text and text.casefold() not in DITTO),
        bare=tuple(number for number, unit in found if not unit),
    )


def _added(named: Iterable[tuple[str | None, int]]) -> Counter[str]:
    """How many cells name each unit."""
    found: Counter[str] = Counter()
    for unit, times in named:
        if unit:
            found[unit] += times
    return found


def _own(cells: list[Cell], texts: list[str]) -> list[tuple[Cell, str]]:
    """The cells that say something themselves, with what they say."""
    own = [
        (cell, without_way(text))
        for cell, text in zip(cells, texts, strict=True)
        if text and text.casefold() not in DITTO
    ]
    # a column that holds little but dashes is told by the rest of it
    return [one for one in own if one[1].casefold() not in NOTHING] or own


def has_inches(columns: Mapping[str, Evidence]) -> bool:
    """Whether a sheet has a column of inches or feet, by its heading or by a mark behind most of its numbers."""
    said = any(_IN_INCHES.search(heading) for heading in columns)
    return said or any(
        sum(bool(_INCH_MARK.search(text)) for text in one.texts) > len(one.texts) / 2 for one in columns.values()
    )


def units_that_fit(name: str, evidence: Evidence, leaves: float | None = None) -> list[str]:
    """The units of length in which a column's numbers are what they usually are; empty where none fits or is known.

    leaves  the usual number of leaves, which tells widths apart
    """
    usual = USUAL.get(name)
    if usual is None or not evidence.values:
        return []
    if name == "leaf_weight_kg":
        return [unit for unit, factor in {"kg": 1.0, "lb": 0.4536}.items() if _fits(evidence.values, factor, usual)]
    fitting = [unit for unit, factor in _MM.items() if _fits(evidence.values, factor, usual)]
    if leaves and name in ("width_mm", "frame_width", "aperture_width"):
        low, high = _LEAF_WIDTH
        middle = median(evidence.values)
        fitting = [unit for unit in fitting if low <= middle * _MM[unit] / leaves <= high]
    return fitting


def is_plausible(measure: str, unit: str, evidence: Evidence, catalogue: Catalogue) -> bool:
    """Whether most numbers lie within the measure's plausible bounds in a unit of length, or in its own unit."""
    row = next((row for row in catalogue.measures if row.name == measure), None)
    if row is None or not evidence.values:
        return row is not None
    factor = _MM.get(unit, 1.0) if row.unit == "mm" else 1.0
    low = row.low if row.low is not None else float("-inf")
    high = row.high if row.high is not None else float("inf")
    return _fits(evidence.values, factor, (low, high), 0.5)


def _fits(values: tuple[float, ...], factor: float, bounds: tuple[float, float], most: float = _MOST_FIT) -> bool:
    low, high = bounds
    filled = [value for value in values if value]
    return not filled or sum(low <= value * factor <= high for value in filled) >= most * len(filled)
