"""Days as people write them: 2025-01-31, 31/01/2025, 01/31/25, 5 Jan 2025; a time part is cut and never shifted.

Reads one text by itself and says which days it can be. Where day and month can be mixed up, the column that the text
stands in decides (see day_orders).
"""

import re
from datetime import date, timedelta

FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2199, 12, 31)
EPOCH_1900, EPOCH_1904 = "1900", "1904"
DAY_FIRST, MONTH_FIRST, YEAR_FIRST = "day first", "month first", "year first"
ISO, NAMED = "iso", "month by name"
REMEDY = "write the date as year-month-day, such as 2025-02-28"

# A time of the day, or the part of it: 14:30, @ 2pm, at 9.15 a.m., am, morning.
_PART_OF_DAY = r"\(?(?:[ap]\.?m\.?|morning|afternoon|evening|noon|midday|lunchtime)\)?"
_TIME = (
    r"(?:(?:[T ]|, ?)\d{1,2}:\d{2}.*"
    r"|,? ?(?:@|at) ?\d{1,2}[.:]\d{2}.*"
    rf"|(?:, ?| (?:@ ?|at )?|@ ?)(?:\d{{1,2}}(?:[.:]\d{{2}})? ?)?{_PART_OF_DAY})?"
)
# Year first and of four digits leaves no doubt, whichever mark stands between.
_YEAR_FIRST = re.compile(rf"(\d{{4}})([-/. \\])(\d{{1,2}})\2(\d{{1,2}}){_TIME}", re.ASCII)
# ISO 8601 basic form. No other order of eight digits has a month where this has one, for years from 1900 to 2099.
_EIGHT_DIGITS = re.compile(r"((?:19|20)\d\d)(\d\d)(\d\d)", re.ASCII)
_OTHER_ORDER = re.compile(rf"(\d{{1,2}})([-/. ])(\d{{1,2}})\2(\d{{4}}|\d{{2}}){_TIME}", re.ASCII)
_MONTHS = {
    name: number
    for number, names in enumerate(
        ("jan january", "feb february", "mar march", "apr april", "may", "jun june", "jul july", "aug august",
         "sep sept september", "oct october", "nov november", "dec december"), start=1,
    )
    for name in names.split()
}  # fmt: skip
_LETTERS = 3
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_WEEKDAY = re.compile(r"(mon|tue|wed|thu|fri|sat|sun)(?:day|s|sday|rs|rsday|nesday|urday)?\.?,?\s+", re.ASCII | re.I)
_YEAR, _MONTH, _DAY, _GAP = r"(?P<y>\d{4}|'?\d{2})", r"(?P<m>[a-z]{3,9})\.?", r"(?P<d>\d{1,2})", r"[-/ .,]{1,2}"
_HOUR = re.compile(r"(?:0?[1-9]|1[0-2]) ?\(?[ap]\.?m", re.IGNORECASE)
_NAMED = (
    re.compile(rf"{_DAY}(?:st|nd|rd|th)?(?: of)?[-/ .,]{{0,2}}{_MONTH}[-/ .,]{{0,2}}{_YEAR}{_TIME}", re.ASCII | re.I),
    re.compile(rf"{_MONTH}[-/ .]{{0,2}}{_DAY}(?:st|nd|rd|th)?{_GAP}{_YEAR}{_TIME}", re.ASCII | re.I),
    re.compile(rf"(?P<y>\d{{4}}){_GAP}{_MONTH}{_GAP}{_DAY}{_TIME}", re.ASCII | re.I),
)
# What names no single day: a month, a week, two days, or a day without its year.
_ANY_MONTH = rf"(?:{'|'.join(_MONTHS)})\.?"
_MONTH_ONLY = re.compile(
    rf"(?:early |mid |late |end (?:of )?)?{_ANY_MONTH}[-/ ,']*(?:\d{{4}}|\d\d)?"
    r"|q[1-4][ /-]*(?:\d{4}|\d\d)|(?:19|20)\d\d|\d{1,2}[/.](?:19|20)\d\d"
)
_WEEK = re.compile(r"(?:w/?[cek]|w\.c\.|week|kw|cw)\b.*|(?:19|20)\d\d-?w\d\d", re.ASCII)
_NO_YEAR = re.compile(
    rf"\d{{1,2}}(?:[-/.]\d{{1,2}}\.?|(?:st|nd|rd|th)?(?: of)?[-/ .]*{_ANY_MONTH})"
    rf"|{_ANY_MONTH}[-/ ]*\d{{1,2}}(?:st|nd|rd|th)"
)
# Of these, forms that can only be one day of one month: 3 Mar, March 3rd, 14/2, 14.02, 14.2. but neither 3-4 nor 3.1.
_LACKS_YEAR = re.compile(
    rf"\d{{1,2}}(?:/\d{{1,2}}|\.\d\d|\.\d{{1,2}}\.|(?:st|nd|rd|th)?(?: of)?[-/ .]*{_ANY_MONTH})"
    rf"|{_ANY_MONTH}[-/ ]*\d{{1,2}}(?:st|nd|rd|th)"
)
_TWO_DAYS = re.compile(r"\d{1,2}(?:[-/.]\d{1,2}(?:[-/.]\d{2,4})?)? ?(?:-|–|&|\+|to|and) ?\d{1,2}[-/. ].*\d.*")
# The 1900 system counts a 29 February 1900 that never was, so its day zero is set for the days after it.
_DAY_ZERO = {EPOCH_1900: date(1899, 12, 30), EPOCH_1904: date(1904, 1, 1)}


def possible_days(text: str) -> dict[str, date]:
    """The days a text can be, by the order of its parts: one for a text that leaves no doubt, none where there is none.

    Orders are DAY_FIRST, MONTH_FIRST and, for a year of two digits, YEAR_FIRST; ISO and NAMED for what is in no doubt.
    """
    weekday = _WEEKDAY.match(text)
    if not weekday:
        return _possible(text)
    wanted = _WEEKDAYS.index(weekday[1].lower())
    return {order: day for order, day in _possible(text[weekday.end() :]).items() if day.weekday() == wanted}


def short_style(text: str) -> str | None:
    """The mark between the parts of a day whose year has two digits, so that it may stand first; None for others."""
    found = _OTHER_ORDER.fullmatch(text)
    return found[2] if found and len(found[4]) == 2 else None


def year_last_style(text: str) -> str | None:
    """The mark between the parts of a day whose year stands last with four digits; None for others."""
    found = _OTHER_ORDER.fullmatch(text)
    return found[2] if found and len(found[4]) == 4 else None


def is_yearless(text: str) -> bool:
    """Whether a text is a day of a month, and only its year is wanting."""
    word = " ".join(text.casefold().split())
    return _LACKS_YEAR.fullmatch(_WEEKDAY.sub("", word, count=1)) is not None


def days_in_year(text: str, year: int) -> dict[str, date]:
    """The days, as `possible_days`, that a text without a year can be in one; none where its weekday is another."""
    day = text.rstrip(". ")
    mark = next((mark for mark in "/." if mark in day and not any(map(str.isalpha, day.rpartition(mark)[2]))), " ")
    has_month = any(name in day.casefold() for name in _MONTHS if len(name) == _LETTERS)
    return possible_days(f"{day} {year}" if has_month else f"{day}{mark}{year}")


def why_no_day(text: str) -> str:
    """What is wrong with a text that can be no day at all, and what to do."""
    word = " ".join(text.casefold().split())
    named = _WEEKDAY.sub("", word, count=1)
    if _WEEK.fullmatch(word):
        return f"this is a week, not one day; {REMEDY}"
    if _NO_YEAR.fullmatch(named):
        return f"its year is not said; {REMEDY}"
    if _MONTH_ONLY.fullmatch(word):
        return f"this is a month or more, not one day; {REMEDY}"
    found = _YEAR_FIRST.fullmatch(text)
    if found and not FIRST_DAY.year <= int(found[1]) <= LAST_DAY.year:
        return f"the year cannot be right; {REMEDY}"
    if found or _OTHER_ORDER.fullmatch(text) or _WEEKDAY.match(text) or _named(text):
        return f"there is no such day; {REMEDY}"
    if _TWO_DAYS.fullmatch(word):
        return f"these may be two days; {REMEDY}, one of them"
    return f"this is not a date; {REMEDY}"


def day_of_serial(serial: float, epoch: str) -> date | None:
    """The day of a spreadsheet's serial number, its time part cut; None outside 1900 to 2199."""
    if not 1 <= serial < 200_000:
        return None
    whole = int(serial)
    if epoch == EPOCH_1900 and whole < 60:
        whole += 1
    day = _DAY_ZERO[epoch] + timedelta(days=whole)
    return day if day <= LAST_DAY else None


def _possible(text: str) -> dict[str, date]:
    year_first = _YEAR_FIRST.fullmatch(text)
    if year_first:
        return _valid({ISO: (year_first[1], year_first[3], year_first[4])})
    digits = _EIGHT_DIGITS.fullmatch(text)
    if digits:
        return _valid({ISO: (digits[1], digits[2], digits[3])})
    other = _OTHER_ORDER.fullmatch(text)
    if other is None:
        return _named(text)
    one, two, three = other[1], other[3], other[4]
    orders = {DAY_FIRST: (three, two, one), MONTH_FIRST: (three, one, two)}
    if len(three) == 2 and len(one) == 2:
        orders[YEAR_FIRST] = (one, two, three)
    return _valid(orders)


def _named(text: str) -> dict[str, date]:
    for form in _NAMED:
        found = form.fullmatch(text)
        month = _MONTHS.get(found["m"].lower()) if found else None
        if found and _HOUR.match(text, found.start("y")):
            # 3 Mar 10 am is a time of a day whose year is not said
            return {}
        if found and month:
            return _valid({NAMED: (found["y"].removeprefix("'"), str(month), found["d"])})
    return {}


def _valid(orders: dict[str, tuple[str, str, str]]) -> dict[str, date]:
    days = {}
    for order, (year, month, day) in orders.items():
        try:
            found = date(_full_year(year), int(month), int(day))
        except ValueError:
            continue
        if FIRST_DAY <= found <= LAST_DAY:
            days[order] = found
    return days


def _full_year(text: str) -> int:
    """A year of two digits: 69 to 99 are of the 1900s, 00 to 68 of the 2000s (POSIX.1-2017, strptime, %y)."""
    year = int(text)
    return year if len(text) == 4 else year + (2000 if year < 69 else 1900)
