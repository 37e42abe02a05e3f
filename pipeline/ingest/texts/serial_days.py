"""Days as a spreadsheet's own number of them in a file of text, such as 45712, by the evidence of the sheet.

Spreadsheets count days from 1900 or, some older ones, from 1904, and a file of text does not say which. Counted from
1904 every day is four years later: where that puts some of them far into the future, they were counted from 1900.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

from pipeline.ingest.texts.dates import EPOCH_1900, EPOCH_1904, REMEDY, day_of_serial

_EPOCHS = (EPOCH_1900, EPOCH_1904)
_EITHER = "as spreadsheets count from 1900 or from 1904 and either fits the days of the sheet"
# A time of the day may follow as a fraction.
_SERIAL = re.compile(r"([2-6]\d{4})(?:[.,]\d+)?", re.ASCII)
_DIGITS = re.compile(r"\d+(?:[.,]\d+)?", re.ASCII)
_EIGHT = 8  # digits of a day written year first
# Earlier than this no folding door of a firm that still keeps records was fitted (common practice, no source).
_EARLIEST = date(1990, 1, 1)
# What is planned is written down this far ahead at most (common practice, no source).
_AHEAD = timedelta(days=366)
# At least this share of the days lies further ahead where they are counted from another day: a slip of the pen alone
# does not decide.
_FAR_AHEAD = 0.1
# So many numbers that all end in the same two digits are days written without marks, which end in their year.
_FEWEST_ENDINGS = 3


def serial_in(text: str) -> float | None:
    """The number of a day that a text may be; None for any other text."""
    found = _SERIAL.fullmatch(text)
    return float(text.replace(",", ".")) if found else None


@dataclass(frozen=True)
class SerialDays:
    """How the numbers of days of a column are counted. epoch: None where it cannot be told; why: what to say then."""

    epoch: str | None = None
    why: str = "and nothing beside it shows that it is one"

    def judge(self, serial: float) -> tuple[date | None, str | None, str | None]:
        """(day, rule, None), or (None, None, what is wrong and what to do)."""
        if self.epoch and (day := day_of_serial(serial, self.epoch)):
            return day, f"a spreadsheet's number of a day, counted from {self.epoch}", None
        shown = " or ".join(day.isoformat() for one in _EPOCHS if (day := day_of_serial(serial, one)))
        return (
            None,
            None,
            f"this may be a spreadsheet's number of a day ({shown}), {self.why}; show the column as dates, or {REMEDY}",
        )


@dataclass
class SerialEvidence:
    """What the numbers in date columns show. last_day: the last day on which anything can have happened.

    found  numbers that may be those of days; has_other: other bare numbers stand among them, which are none
    """

    last_day: date
    found: set[float] = field(default_factory=set)
    has_other: bool = False

    def add(self, texts: Iterable[str]) -> None:
        """Takes in texts of a column."""
        for text in texts:
            serial = serial_in(text)
            if serial is not None:
                self.found.add(serial)
            elif _DIGITS.fullmatch(text) and len(text) != _EIGHT:
                self.has_other = True

    def join(self, other: "SerialEvidence") -> None:
        """Takes in what another column of the sheet shows, if its numbers can be those of days."""
        if not other.why_none:
            self.found |= other.found

    @property
    def why_none(self) -> str:
        """Why the numbers of a column cannot be those of days; empty where they can."""
        days = [day_of_serial(serial, EPOCH_1900) for serial in self.found]
        if self.has_other:
            return "and other bare numbers in its column are none"
        if len(self.found) >= _FEWEST_ENDINGS and len({int(serial) % 100 for serial in self.found}) == 1:
            return "and all in its column end alike, as if with a year"
        if any(day is None or not day >= _EARLIEST for day in days) or self.are_far_ahead(EPOCH_1900):
            return "and others in its column would be days long ago or far ahead"
        return ""

    def decide(self, sheet: "SerialEvidence") -> SerialDays:
        """How the column counts. sheet: what all columns of the sheet show."""
        if why := self.why_none:
            return SerialDays(None, why)
        if not sheet.are_far_ahead(EPOCH_1904):
            return SerialDays(None, _EITHER)
        return SerialDays(EPOCH_1900, "")

    def are_far_ahead(self, epoch: str) -> bool:
        """Whether so many days would lie far ahead that they are not counted so."""
        days = [day_of_serial(serial, epoch) for serial in self.found]
        late = [day for day in days if day is None or day > self.last_day + _AHEAD]
        return bool(late) and len(late) >= _FAR_AHEAD * len(days)
