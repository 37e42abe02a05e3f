"""Whether a duration is written in hours or in minutes."""

import re
from statistics import median

from pipeline.ingest.matching.columns.evidence import Evidence
from pipeline.ingest.matching.words.heading_units import words_apart
from pipeline.ingest.texts.clock_hours import hours_of

HOURS = "hours"
_MINUTES = re.compile(r"\b(?:mins?|minutes)\b", re.IGNORECASE)
_HOURS = re.compile(r"\b(?:h|hrs?|hours?)\b", re.IGNORECASE)
# A visit or a lesson that usually lasts longer than this was written in minutes; common practice, no source.
_LONGEST = 15.0
# A heading with one of these is of time spent; where none is, or it would usually be so long, it may be of the clock.
_SPENT = re.compile(
    r"\b(?:on site|spent|taken|worked|duration|length|labou?r|booked|total|used|how long)\b", re.IGNORECASE
)
_LONG = 5.0
_AMOUNT = r"(?:\d+(?:[.,]\d+)?|\d*\s?[¼-¾⅐-⅞]|(?:\d+[ -])?\d/\d)"
_WITH_UNIT = re.compile(rf"{_AMOUNT}\s*(?:h|hrs?|hours?|m|mins?|minutes?)\.?", re.IGNORECASE)
_MOSTLY = 0.6


def are_durations(texts: frozenset[str]) -> bool:
    """Whether all different cells say themselves how long: 45 min, 1.5 h, 1h30."""
    return bool(texts) and all(_WITH_UNIT.fullmatch(text) or hours_of(text) is not None for text in texts)


def says_itself_how_long(evidence: Evidence) -> bool:
    """Whether the cells of a column say themselves that they are hours or minutes: 30m, 1h."""
    are_said = not evidence.clock and are_durations(evidence.texts)
    return are_said or evidence.spelt_hours - evidence.clock >= _MOSTLY


def _may_be_times_of_day(heading: str, evidence: Evidence) -> bool:
    hours = [found for text in evidence.texts if (found := hours_of(text)) is not None]
    return not _SPENT.search(heading) or median(hours) >= _LONG


def unit_of_duration(heading: str, evidence: Evidence | None) -> tuple[str | None, str]:
    """(the unit, None for hours, what is in doubt) of a column by its heading, else by how large its numbers are."""
    heading = words_apart(heading).replace("_", " ")
    in_minutes, in_hours = bool(_MINUTES.search(heading)), bool(_HOURS.search(heading))
    if in_minutes and not in_hours:
        return "min", ""
    if evidence and evidence.clock and _may_be_times_of_day(heading, evidence) and not in_hours:
        return None, "hours: cells such as 9:30 may be times of day"
    if evidence is not None and says_itself_how_long(evidence):
        return None, ""
    values = evidence.values if evidence else ()
    if values and not in_hours and median(values) > _LONGEST:
        return None, f"hours: numbers around {median(values):g} may be minutes; say unit ="
    return None, ""
