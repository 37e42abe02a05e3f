"""Durations of hours and minutes as people write them: 1:30, 1h30, 1 hr 30, 2 hours 15 mins."""

import re

# As a watch shows it; the seconds of a spreadsheet's time are none.
CLOCK = re.compile(r"(\d{1,2}):([0-5]\d)(?::00)?", re.ASCII)
_SPELT = re.compile(
    r"(\d{1,2})\s*(?:h|hrs?|hours?)\.?\s*(?:and\s*|,\s*)?([0-5]?\d)\s*(?:m|mins?|minutes?)?\.?",
    re.ASCII | re.IGNORECASE,
)
_IN_WORDS = {"an hour": 1.0, "half an hour": 0.5, "half hour": 0.5, "hour and a half": 1.5, "an hour and a half": 1.5}
RULE = "hours and minutes"


def hours_of(text: str) -> float | None:
    """The hours that a text of hours and minutes says; None for any other text."""
    found = CLOCK.fullmatch(text) or _SPELT.fullmatch(text)
    return round(int(found[1]) + int(found[2]) / 60, 4) if found else _IN_WORDS.get(text.casefold())
