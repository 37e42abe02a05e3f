"""Days as people write them in a canonical file: year first, a time part cut and never shifted; spreadsheet serials."""

import re
from datetime import date, timedelta

FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2199, 12, 31)
EPOCH_1900, EPOCH_1904 = "1900", "1904"

# Year first and of four digits leaves no doubt, whichever mark stands between.
_YEAR_FIRST = re.compile(r"(\d{4})([-/ \\])(\d{1,2})\2(\d{1,2})(?:[T ]\d{1,2}:\d{2}.*)?", re.ASCII)
_OTHER_ORDER = re.compile(r"\d{1,2}[-/. ]\d{1,2}[-/. ]\d{2,4}", re.ASCII)
# The 1900 system counts a 29 February 1900 that never was, so its day zero is set for the days after it.
_DAY_ZERO = {EPOCH_1900: date(1899, 12, 30), EPOCH_1904: date(1904, 1, 1)}


def judge_day(text: str) -> tuple[date | None, str | None]:
    """(day, None), or (None, what is wrong and what to do) for a text that is not a day of 1900 to 2199, year first."""
    found = _YEAR_FIRST.fullmatch(text)
    if found is None:
        return None, _why_not(text)
    try:
        day = date(int(found[1]), int(found[3]), int(found[4]))
    except ValueError:
        return None, "there is no such day; write the date as year-month-day, such as 2025-02-28"
    if not FIRST_DAY <= day <= LAST_DAY:
        return None, "the year cannot be right; write the date as year-month-day, such as 2025-02-28"
    return day, None


def day_of_serial(serial: float, epoch: str) -> date | None:
    """The day of a spreadsheet's serial number, its time part cut; None outside 1900 to 2199."""
    if not 1 <= serial < 200_000:
        return None
    whole = int(serial)
    if epoch == EPOCH_1900 and whole < 60:
        whole += 1
    day = _DAY_ZERO[epoch] + timedelta(days=whole)
    return day if day <= LAST_DAY else None


def _why_not(text: str) -> str:
    if _OTHER_ORDER.fullmatch(text):
        return "day and month can be mixed up in this order; write the date as year-month-day, such as 2025-02-28"
    return "this is not a date; write it as year-month-day, such as 2025-02-28"
