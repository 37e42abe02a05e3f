"""What the cells of one sheet show together: the decimal mark and the order of day and month of each column.

A first look at the distinct texts, before any is judged. Never types a cell.
"""

from collections.abc import Callable, Iterable
from datetime import date

import polars as pl

from pipeline.catalogue import Customs
from pipeline.ingest.judging.cells import cleaned
from pipeline.ingest.records import CALLBACKS, DAY, NUMBER, WHOLE, Record
from pipeline.ingest.texts.day_orders import DayOrder, OrderEvidence
from pipeline.ingest.texts.directions import WayEvidence
from pipeline.ingest.texts.hours_written import HoursEvidence
from pipeline.ingest.texts.manners import Manners
from pipeline.ingest.texts.marks import POINT, MarkEvidence
from pipeline.ingest.texts.money import MONEY, PLUS, currencies_in_cells
from pipeline.ingest.texts.numbers import digits_of

# An unsigned or signed number whose only point cannot stand between thousands.
SHOWS_POINT = r"^[+-]?(?:\d*\.\d{1,2}|\d*\.\d{4,}|\d{4,}\.\d+|0\d*\.\d+|\.\d+)$"
_DOUBTFUL_POINT = r"^[+-]?[1-9]\d{0,2}\.\d{3}$"
_PLAIN = r"^[+-]?\d*\.?\d*(?:[eE][+-]?\d+)?$"
_IN_OR_OUT = r"(?i)\b(?:in|out)\)?\s*$"
_ISO = r"^\d{4}-\d{2}-\d{2}$"


class Evidence:
    """Gathers what the sheet's columns show, part by part. last_day: the last on which anything can have happened."""

    def __init__(self, record: Record, customs: Customs, last_day: date) -> None:
        self._record = record
        self._customs = customs
        self._last_day = last_day
        self._marks = {c.name: MarkEvidence() for c in record.columns if c.kind in (NUMBER, WHOLE)}
        self._currencies: dict[str, set[str]] = {c.name: set() for c in record.columns if c.name in MONEY}
        self._orders = {c.name: OrderEvidence(last_day) for c in record.columns if c.kind == DAY}
        self._hours = HoursEvidence()
        self._ways = WayEvidence()

    def add(self, frame: pl.DataFrame) -> None:
        """Takes in text columns named as the record's; others, and missing ones, do not count."""
        for name, marks in self._marks.items():
            if name in frame.columns:
                _add_numbers(marks, _amounts(frame, name) if name in MONEY else _texts(frame, name))
        for name, signs in self._currencies.items():
            if name in frame.columns:
                signs |= currencies_in_cells(_texts(frame, name))
        for name, orders in self._orders.items():
            if name in frame.columns:
                texts = _texts(frame, name)
                is_iso = texts.str.contains(_ISO)
                orders.add(texts.filter(~is_iso))
                orders.iso.update(texts.filter(is_iso).str.to_date(strict=False).drop_nulls())
        if self._record is CALLBACKS and "hours" in frame.columns:
            self._hours.add(_texts(frame, "hours"))
        if {"measure", "value"} <= set(frame.columns):
            ends = frame.select("measure", "value").filter(pl.col("value").str.contains(_IN_OR_OUT))
            for measure, text in ends.unique().drop_nulls().rows():
                self._ways.add(measure, text)

    def show_point(self, name: str, text: str) -> None:
        """Takes in a text of a number column that shows a decimal point, found elsewhere."""
        self._marks[name].add([text])

    def manners(
        self,
        units: dict[str, str] | None = None,
        turned: frozenset[int] = frozenset(),
        year: int | None = None,
        beside: Callable[[], frozenset[str]] | None = None,
    ) -> Manners:
        """What the columns show.

        units  by column, the unit its heading gives; turned: rows of the other sign; year: what the sheet's title says
        beside  gives the days of all sheets of the file, which decide where the sheet's own do not
        """
        sheet = OrderEvidence(self._last_day)
        for orders in self._orders.values():
            sheet.join(orders)
        return Manners(
            {name: marks.decide(self._customs.decimals) for name, marks in self._marks.items()},
            self._decided(sheet, beside),
            units or {},
            {name: frozenset(signs) for name, signs in self._currencies.items()},
            self._hours.decide(),
            self._ways.both,
            turned,
            year,
        )

    def _decided(self, sheet: OrderEvidence, beside: Callable[[], frozenset[str]] | None) -> dict[str, DayOrder]:
        """By column, its order of day and month, by its sheet or else by all sheets of its file."""
        said = self._customs.dates
        found = {name: orders.decide(sheet, said) for name, orders in self._orders.items()}
        if beside is None or not any(orders.is_open(found[name]) for name, orders in self._orders.items()):
            return found
        of_file, together = OrderEvidence(self._last_day), OrderEvidence(self._last_day)
        of_file.add(beside())
        together.join(of_file)
        shown = of_file.decide(together, said)
        return {
            name: found[name].completed(shown) if orders.is_open(found[name]) else found[name]
            for name, orders in self._orders.items()
        }

    def show_days(self, name: str, days: Iterable[date]) -> None:
        """Takes in days year first of a date column, found elsewhere."""
        self._orders[name].iso.update(days)

    @property
    def doubtful_days(self) -> list[str]:
        """Date columns in which, as far as texts have been seen, day and month of typed days may be exchanged."""
        return [name for name, orders in self._orders.items() if orders.may_be_exchanged]

    @property
    def has_exchanged(self) -> bool:
        """Whether a date column shows that day and month of its typed days may be exchanged."""
        return any(orders.exchanged() for orders in self._orders.values())

    @property
    def has_yearless(self) -> bool:
        """Whether a day lacks its year, which title and names of the sheet or the days of its row may say."""
        return any(orders.has_yearless for orders in self._orders.values())

    @property
    def doubtful_points(self) -> list[str]:
        """Number columns in which a single point may not be a decimal mark, as far as has been seen."""
        decided = {name: marks.decide(self._customs.decimals) for name, marks in self._marks.items()}
        return [name for name, mark in decided.items() if mark != POINT]


def _texts(frame: pl.DataFrame, name: str) -> pl.Series:
    """The distinct texts of a column; each is cleaned once, however many rows hold it."""
    return frame.select(pl.col(name).unique()).select(cleaned(name))[name].drop_nulls()


def _amounts(frame: pl.DataFrame, name: str) -> pl.Series:
    """The same of a column of money, where a cell may hold several that make a sum."""
    texts = _texts(frame, name)
    has_sum = texts.str.slice(1).str.contains(PLUS, literal=True)
    parts = texts.filter(has_sum).str.split(PLUS).explode().str.strip_chars()
    return pl.concat([texts.filter(~has_sum), parts.drop_nulls()])


def _add_numbers(marks: MarkEvidence, texts: pl.Series) -> None:
    point = texts.filter(texts.str.contains(SHOWS_POINT)).min()
    if point is not None:
        marks.add([str(point).lstrip("+-")])
    doubtful = texts.filter(texts.str.contains(_DOUBTFUL_POINT)).head(1)
    marks.add(str(text).lstrip("+-") for text in doubtful)
    odd = texts.filter(~texts.str.contains(_PLAIN) & texts.str.contains(r"[.,]"))
    marks.add(filter(None, map(digits_of, odd)))
