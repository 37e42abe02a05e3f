"""Finds a column that a record must have by what stands in it, where no heading says it and only one column can be it.

Days must lie in their order (surveyed, fitted, handed over; reported, visited), numbers of doors and callbacks stand
once each and look like numbers given one after another, crews are a few names that say so. A column whose heading
tells of something kept beside the doors (an invoice, a delivery) is never taken. Where two columns could be meant,
none is: a person decides. How folders of fitting firms look is common practice, no source.
"""

import re
from datetime import date
from statistics import median

from pipeline.ingest.matching.columns.evidence import Evidence
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.words.meaning import column_likeness
from pipeline.ingest.matching.words.vocabulary import elsewhere, words_of
from pipeline.ingest.records import CALLBACKS, INSTALLS, Record
from pipeline.ingest.texts.dates import DAY_FIRST, MONTH_FIRST, possible_days

# Facts that show that a sheet lists doors, or callbacks, whatever the heading of the wanting column is.
FACTS = 3
_NUMBER = re.compile(r"(?P<letters>[a-z]{0,5})[-/. #]?(?P<digits>\d{1,8})", re.IGNORECASE | re.ASCII)
NAMES_A_CREW = re.compile(r"\b(?:van|team|crew|gang|squad|lads)\b|\w (?:&|\+|and) \w", re.IGNORECASE)
# Names of sheets and lines that are no crew's; a name may begin as a month does: Maren, Janet.
NO_CREW = re.compile(
    r"\d{3}|\b(?:sheets?|tables?|data|pages?|weeks?|wk|months?|sites?|doors?|forms?|all|q[1-4]|"
    r"jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|"
    r"nov(?:ember)?|dec(?:ember)?)(?![^\W\d_])|^\W*\d*\W*$",
    re.IGNORECASE,
)
_FEWEST, _LONGEST_CREW, _MOST_LEFT_BLANK = 4, 24, 0.1
# Of sentences that people wrote, so many differ; of choices from a list fewer do.
_SENTENCES, _DIFFERENT = 0.6, 0.4
# As sure as this a heading says a crew.
SAYS_A_CREW = 0.9
OF_A_NUMBER = frozenset({"number", "reference", "id", "code"})
# A callback is seen within so many days of being reported; the day a door was fitted lies longer back.
_SOON = 45
# Days of a record that come before a day and after it.
ORDERED = {
    ("installs", "fitted_on"): (("surveyed_on",), ("handed_over_on", "removed_on")),
    ("callbacks", "reported_on"): ((), ("logged_on", "visited_on")),
    ("callbacks", "visited_on"): (("reported_on",), ()),
}


def by_elimination(
    record: Record, layout: Layout, placed: dict[str, str], taken: set[str]
) -> dict[str, tuple[str, str]]:
    """By wanting column: (heading, why) of the only column that it can be.

    placed  heading of each column that has one; taken: all headings that mean something else
    """
    n_said = len({*placed.values(), *taken})
    if n_said < FACTS or record not in (INSTALLS, CALLBACKS):
        return {}
    free = free_columns(layout, taken)
    found = {}
    own = record.key[0]
    if own not in placed and (heading := only([one for one in free if may_number(record, layout, one)])):
        found[own] = (heading, "the only column that numbers the rows")
    if len(placed) < FACTS:
        # a sheet of readings says little of the doors but which they are
        return found
    day = "fitted_on" if record is INSTALLS else "reported_on"
    if day not in placed and (heading := _day(record.name, day, layout, placed, free)):
        found[day] = (heading, "the only dates that lie in the order of the work")
    crews = [one for one in free if _are_crews(layout.evidence[one])]
    if record is INSTALLS and "crew" not in placed and (heading := only(crews)):
        found["crew"] = (heading, "the only column of a few names of crews")
    is_dated = "reported_on" in {*placed, *found}
    told = [one for one in free if _is_told(layout.evidence[one])]
    if record is CALLBACKS and is_dated and "note" not in placed and (heading := only(told)):
        found["note"] = (heading, "the only column of whole sentences")
    return found


def free_columns(layout: Layout, taken: set[str]) -> list[str]:
    """Headings that mean nothing else and tell of nothing kept beside the doors."""
    return [heading for heading in layout.evidence if heading not in taken and not is_elsewhere(heading, layout)]


def only(headings: list[str]) -> str | None:
    """The heading that is the only candidate; None where there is none or a person must choose."""
    return headings[0] if len(headings) == 1 else None


def may_number(record: Record, layout: Layout, heading: str) -> bool:
    """Whether a column, by its cells and its heading, may be the numbers of a record's rows.

    A log numbers its calls in words of its own, not by crews; a number of something else than doors is none of them.
    """
    named = layout.lowest(heading)
    is_of_other = (
        _numbers_a_thing(named) if record is INSTALLS else column_likeness("installs", "crew", named) >= SAYS_A_CREW
    )
    return _are_numbers(layout, heading) and not is_elsewhere(heading, layout) and not is_of_other


def _numbers_a_thing(heading: str) -> bool:
    """Whether a heading says of what it is the number, and no list of words knows that as the door's: Key no."""
    words = set(words_of(heading))
    return bool(words - OF_A_NUMBER) and bool(words & OF_A_NUMBER)


def counts_rows(layout: Layout, heading: str) -> bool:
    """Whether cells number the rows one after another, up or down."""
    if not _are_numbers(layout, heading):
        return False
    numbers = [int(re.sub(r"\D", "", text)) for text in layout.cells.texts(heading) if text]
    return numbers in (sorted(numbers), sorted(numbers, reverse=True))


def is_elsewhere(heading: str, layout: Layout) -> bool:
    """Whether a heading tells of something kept beside the doors: an invoice, a delivery."""
    return bool(set(words_of(layout.lowest(heading))) & elsewhere())


def _are_numbers(layout: Layout, heading: str) -> bool:
    """Whether cells are numbers given to doors or callbacks: once each, none wanting, and of one shape."""
    evidence = layout.evidence[heading]
    if evidence.distinct != evidence.filled or evidence.filled < _FEWEST or evidence.blank > _MOST_LEFT_BLANK:
        return False
    found = [_NUMBER.fullmatch(text) for text in layout.cells.texts(heading) if text]
    shapes = [(one["letters"].casefold(), int(one["digits"])) for one in found if one]
    if evidence.are_days or len(shapes) < len(found) or len({letters for letters, _ in shapes}) > 1:
        return False
    numbers = [number for _, number in shapes]
    return numbers == sorted(numbers) or bool(shapes[0][0])


def _is_told(evidence: Evidence) -> bool:
    """Whether cells are sentences that differ from row to row."""
    is_long = evidence.filled >= _FEWEST and evidence.wordy >= _SENTENCES and not evidence.are_days
    return is_long and evidence.distinct >= _DIFFERENT * evidence.filled and evidence.numbers < _SENTENCES


def _are_crews(evidence: Evidence) -> bool:
    """Whether cells are a few names that say themselves that they are crews: Van 2, Team North, Sid & Wes."""
    texts = evidence.texts
    is_few = 2 <= len(texts) <= max(2, evidence.filled // 2)
    return is_few and evidence.longest <= _LONGEST_CREW and all(NAMES_A_CREW.search(text) for text in texts)


def _day(record: str, name: str, layout: Layout, placed: dict[str, str], free: list[str]) -> str | None:
    """The only free column of days, where it lies between those that come before it and after it."""
    days = [one for one in free if layout.evidence[one].are_days]
    return only(in_order(record, name, layout, placed, days)) if len(days) == 1 else None


def in_order(record: str, name: str, layout: Layout, placed: dict[str, str], free: list[str]) -> list[str]:
    """Of free columns of days, those that lie between those that come before a day of a record and after it."""
    before_it, after_it = ([placed[other] for other in others if other in placed] for others in ORDERED[record, name])
    under = dict(zip(names := [*free, *before_it, *after_it], days_under(layout, names), strict=True))
    days = {one: under[one] for one in free}
    before, after = ([under[one] for one in those] for those in (before_it, after_it))
    found = [
        heading
        for heading, own in days.items()
        if all(_is_before(one, own) for one in before) and all(_is_before(own, one) for one in after)
    ]
    if record == CALLBACKS.name:
        pairs = {
            one: [(other, days[one]) for other in before] + [(days[one], other) for other in after] for one in found
        }
        found = [one for one in found if all(_lag(*pair) <= _SOON for pair in pairs[one])]
    return found if before or after else []


def days_under(layout: Layout, headings: list[str]) -> list[list[date | None]]:
    """The days of some columns; the day stands before the month unless a cell of any of them says otherwise."""
    columns = [[possible_days(text) for text in layout.cells.texts(one, is_day=True)] for one in headings]
    is_month_first = any(MONTH_FIRST in one and DAY_FIRST not in one for column in columns for one in column)
    first = MONTH_FIRST if is_month_first else DAY_FIRST
    return [[one.get(first, next(iter(one.values()), None)) for one in column] for column in columns]


def _is_before(first: list[date | None], second: list[date | None]) -> bool:
    pairs = [(a, b) for a, b in zip(first, second, strict=True) if a and b]
    return len(pairs) >= _FEWEST and all(a <= b for a, b in pairs)


def _lag(first: list[date | None], second: list[date | None]) -> float:
    """The usual number of days from one to the other."""
    return median((b - a).days for a, b in zip(first, second, strict=True) if a and b)
