"""Whether day or month stands first in the dates of one column, by the column's own evidence.

A day past the 12th decides; so do the other date columns of the sheet, what the firm says in its settings, and where
these leave it open the other sheets of the file.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date

from pipeline.ingest.texts.dates import (
    DAY_FIRST,
    ISO,
    MONTH_FIRST,
    REMEDY,
    YEAR_FIRST,
    days_in_year,
    is_yearless,
    possible_days,
    short_style,
    why_no_day,
    year_last_style,
)
from pipeline.ingest.texts.serial_days import SerialDays, SerialEvidence, serial_in

_LAST = (DAY_FIRST, MONTH_FIRST)
_FEWEST = 4
_LEAP_YEAR = 2024  # in which every day of a month can be
# Dates with a year of two digits whose last parts are so few, and their first parts so many, have their year last.
_MOST_YEARS, _FEWEST_DAYS = 3, 8
# Between points the year hardly ever stands first (common practice, no source), and fewer show it: that three days of
# different years fall on one day of a month by chance is 1 in 900, five on two of them 1 in 1,700.
_FEWEST_BETWEEN_POINTS = {1: 3, 2: 5}


@dataclass(frozen=True)
class DayOrder:
    """order: DAY_FIRST or MONTH_FIRST, None where it cannot be told; why: what to say then.

    short      by mark between the parts, whether a year of two digits stands first; a mark in doubt is not among them
    exchanged  a text that shows that days year first may have day and month exchanged; None where nothing does
    serials    how a spreadsheet's numbers of days are counted
    """

    order: str | None = None
    why: str = "and no date of the column is past the 12th of its month"
    short: dict[str, bool] = field(default_factory=dict)
    exchanged: str | None = None
    serials: SerialDays = field(default_factory=SerialDays)

    def judge(self, text: str) -> tuple[date | None, str | None, str | None]:
        """(day, rule, None), or (None, None, what is wrong and what to do). rule: None for a day year first."""
        days = possible_days(text)
        if not days:
            serial = serial_in(text)
            return (None, None, why_no_day(text)) if serial is None else self.serials.judge(serial)
        if ISO in days and self.exchanged:
            return None, None, self._exchange()
        style = short_style(text)
        if style in self.short:
            days = {key: day for key, day in days.items() if (key == YEAR_FIRST) == self.short[style]} or days
        if self.order in days and YEAR_FIRST not in days:
            days = {self.order: days[self.order]}
        if len(set(days.values())) > 1:
            return None, None, self._problem(days)
        order, day = next(iter(days.items()))
        return day, _rule(order, style), None

    def completed(self, of_file: "DayOrder") -> "DayOrder":
        """The order, what it leaves open taken from that of all sheets of the file."""
        return replace(self, order=self.order or of_file.order, short=of_file.short | self.short)

    def in_year(self, text: str, year: int) -> list[date]:
        """The days that a text without a year can be in one: none, one, or two where the order is in doubt."""
        days = days_in_year(text, year)
        return [days[self.order]] if self.order in days else list(dict.fromkeys(days.values()))

    def _exchange(self) -> str:
        return (
            "a spreadsheet may have exchanged day and month: every day it knew as a date is before the 13th, and "
            f"{self.exchanged} it left as text; look the dates of this column up and write all of them year-month-day"
        )

    def _problem(self, days: dict[str, date]) -> str:
        shown = " or ".join(dict.fromkeys(day.isoformat() for day in days.values()))
        say = 'dates = "day first" or "month first"'
        why = "as the year can stand first or last" if YEAR_FIRST in days else self.why
        hint = REMEDY if YEAR_FIRST in days else f"{REMEDY}, or say {say} in fitback.toml"
        return f"day and month can be mixed up: this can be {shown}, {why}; {hint}"


@dataclass
class OrderEvidence:
    """What the dates of a column show. last_day: the last day on which anything can have happened.

    shown      by order, the first text that can be read in no other
    short      by mark between the parts of dates with a year of two digits: whether one has its year first, and last
    ends       by that mark, the texts that stand first, and last
    year_last  by that mark and by order, the first text that can be read in no other if its year is last
    whole_years  marks between the parts of dates whose year stands last with four digits
    iso        days written year first; loose: whether a text can be read in both orders; strict: texts that cannot
    has_yearless  a text lacks its year
    serials  a spreadsheet's numbers of days
    """

    last_day: date
    shown: dict[str, str] = field(default_factory=dict)
    short: dict[str, set[bool]] = field(default_factory=dict)
    ends: dict[str, tuple[set[str], set[str]]] = field(default_factory=dict)
    year_last: dict[str, dict[str, str]] = field(default_factory=dict)
    whole_years: set[str] = field(default_factory=set)
    iso: set[date] = field(default_factory=set)
    strict: set[str] = field(default_factory=set)
    is_loose: bool = False
    has_yearless: bool = False
    serials: SerialEvidence = field(init=False)

    def __post_init__(self) -> None:
        self.serials = SerialEvidence(self.last_day)

    def add(self, texts: Iterable[str]) -> None:
        """Takes in texts of a column."""
        texts = list(texts)
        self.serials.add(texts)
        for text in texts:
            if is_yearless(text):
                self.has_yearless = True
                self._add_orders(text, days_in_year(text, _LEAP_YEAR), "")
                continue
            days = possible_days(text)
            self.iso |= {day for order, day in days.items() if order == ISO}
            style = short_style(text)
            if style is not None:
                self._add_short(style, days)
                for end, part in zip(self.ends.setdefault(style, (set(), set())), _ends(text, style), strict=True):
                    end.add(part)
            elif (mark := year_last_style(text)) is not None:
                # who writes some years with four digits at the end has those of two digits there as well
                self.whole_years.add(mark)
            self._add_orders(text, days, style or "")

    def _add_orders(self, text: str, days: dict[str, date], style: str) -> None:
        """Notes in which orders a text can be read."""
        orders = [order for order in _LAST if order in days]
        self.is_loose = self.is_loose or len(orders) == 2
        if len(orders) == 1:
            self.strict.add(text)
            shown = self.year_last.setdefault(style, {}) if YEAR_FIRST in days else self.shown
            shown[orders[0]] = min(text, shown.get(orders[0], text))

    def join(self, other: "OrderEvidence") -> None:
        """Takes in what another column shows."""
        self.serials.join(other.serials)
        found = [
            other.shown,
            *(other.year_last.get(style, {}) for style, is_first in other.years_first.items() if not is_first),
        ]
        for order, text in (pair for shown in found for pair in shown.items()):
            self.shown[order] = min(text, self.shown.get(order, text))

    def _add_short(self, style: str, days: dict[str, date]) -> None:
        """Notes which end of a date with a year of two digits holds the year, where one end would be in the future."""
        seen = self.short.setdefault(style, set())
        past = {order == YEAR_FIRST for order, day in days.items() if day <= self.last_day}
        if len(past) == 1:
            seen.update(past)

    @property
    def years_first(self) -> dict[str, bool]:
        """By mark, whether years of two digits stand first, where the column shows it.

        A day in the future does, or last parts that hardly change: in 15/03/24, 28/03/24, 04/04/24 ... the year stands
        last, or every door would have been fitted on the 24th of a month, each in another year.
        """
        shown = {style: True in seen for style, seen in self.short.items() if len(seen) == 1}
        shown |= {style: False for style in self.whole_years if not self.short.get(style)}
        for style, (first, last) in self.ends.items():
            fewest = _FEWEST_BETWEEN_POINTS.get(len(last), _FEWEST_DAYS) if style == "." else _FEWEST_DAYS
            if not self.short.get(style) and len(last) <= _MOST_YEARS and len(first) >= fewest:
                shown[style] = False
        return shown

    @property
    def may_be_exchanged(self) -> bool:
        """Whether, for all the texts show, days year first may have day and month exchanged."""
        return bool(self.strict) and not self.is_loose

    def exchanged(self) -> str | None:
        """A text that shows an exchange: a spreadsheet that expects another order takes days up to the 12th as dates,
        with day and month exchanged, and leaves the others as text.

        Four dates of which none speaks against it are enough to look them up; fewer are met by chance.
        """
        is_early = bool(self.iso) and all(day.day <= 12 for day in self.iso)
        is_shown = self.may_be_exchanged and is_early and len(self.iso) + len(self.strict) >= _FEWEST
        return min(self.strict) if is_shown else None

    def is_open(self, order: DayOrder) -> bool:
        """Whether an order that the sheet shows leaves dates of the column in doubt, and none contradicts another."""
        is_unshown = order.order is None and self.is_loose and order.why == DayOrder.why
        return is_unshown or bool(self.short.keys() - order.short.keys())

    def decide(self, sheet: "OrderEvidence", said: str | None = None) -> DayOrder:
        """The column's order. sheet: what all columns of the sheet show. said: what the firm says of its dates."""
        return replace(self._order(sheet, said), serials=self.serials.decide(sheet.serials))

    def _order(self, sheet: "OrderEvidence", said: str | None) -> DayOrder:
        # what the firm says of its dates also says that their year stands last, unless the column shows the contrary
        exchanged = self.exchanged()
        short = self.years_first
        if said:
            short |= {style: False for style, seen in self.short.items() if not seen and style not in short}
        if len(sheet.shown) == 2:
            both = " and ".join(f"{text} is {order}" for order, text in sorted(sheet.shown.items()))
            return DayOrder(None, f"and in this sheet {both}", short, exchanged)
        shown = next(iter(sheet.shown), None)
        if said and shown and said != shown:
            return DayOrder(
                None, f"and {sheet.shown[shown]} is {shown} where fitback.toml says {said}", short, exchanged
            )
        if said or shown:
            return DayOrder(said or shown, "", short, exchanged)
        return DayOrder(short=short, exchanged=exchanged)


def _ends(text: str, mark: str) -> tuple[str, str]:
    """What stands before the first mark of a date and behind the second, a time part left out."""
    first, _, last = text.split(mark)[:3]
    return first.zfill(2), last[:2]


def _rule(order: str, style: str | None) -> str | None:
    if order == ISO:
        return None
    return f"{order}, year of two digits" if style is not None else order
