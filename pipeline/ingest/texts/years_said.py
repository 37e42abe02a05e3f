"""The one year that a file, a sheet or the title over a table says of the days in it; none where there is a doubt."""

import re
from collections.abc import Iterable

# A year by itself; not one of a pair (2024-25, 2024/2025), behind a colon of a standard, or part of a longer number.
_YEAR = re.compile(r"(?<![\d:.])(?<!\b[^\W\d_])(20[0-4]\d)(?![\d:])")
# The number of a thing that looks like a year: Job 2012, Door no. 2019. Many of them are of a year: Doors 2024.
_NUMBER = re.compile(
    r"\b(?:job|door|plot|order|contract|project|unit|house|number|no|ref|quote|invoice|ticket|docket|po)\b[\s.:#-]*20\d\d"
    r"|#\s*20\d\d",
    re.IGNORECASE,
)
_PAIR = re.compile(r"(20[0-4]\d)\s?(?:[-/–_&+]|to|and)\s?(?:20)?(\d\d)(?!\d)", re.IGNORECASE)
# What stands beside a year that the days of the sheet may leave, such as that in which it was printed.
_OPEN = re.compile(
    r"\b(?:since|from|until|till|up to|before|after|ongoing|onwards?|to date|earlier|later|older|"
    r"year (?:to|end(?:ing|ed)?)|y/e|financial|fiscal|printed|updated|"
    r"exported|saved|generated|as (?:at|of))\b|\bfy\W*20|20\d\d\s*(?:-|–|\+|on\b|>)\s*$",
    re.IGNORECASE,
)
# A year that is a form's, a standard's or a price list's.
_OF_PAPER = re.compile(
    r"\b(?:rev(?:ision)?|edition|ed|issued?|version|form|template|standard|regs?|regulations?|established|est|copyright"
    r"|bs|en|iso|din|prices?)\b|[©]",
    re.IGNORECASE,
)


def year_said(texts: Iterable[str | None]) -> int | None:
    """The year that all texts together say: one, and nothing that speaks of others beside it."""
    years: set[int] = set()
    for text in filter(None, texts):
        spread = _NUMBER.sub(" ", text.replace("_", " "))
        found = {int(year) for year in _YEAR.findall(spread)}
        if found and _OF_PAPER.search(spread):
            continue
        if found and (_OPEN.search(spread) or any(_is_next(one) for one in _PAIR.findall(spread))):
            return None
        years |= found
    return years.pop() if len(years) == 1 else None


def _is_next(pair: tuple[str, str]) -> bool:
    """Whether the second of two numbers is the year after the first: 2024-25."""
    return int(pair[1]) == (int(pair[0]) + 1) % 100
