"""The pattern of names by which next month's file is read as this month's."""

import re
from pathlib import Path

# Short or in full; a name may begin as a month does: Janet, Marvin.
MONTHS = (
    r"(?:jan(?:uary?)?|feb(?:ruary?)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|"
    r"nov(?:ember)?|dec(?:ember)?)"
)
# The part of a file's name that differs from month to month.
_VARYING = re.compile(
    rf"(?<![^\W_])(?:{MONTHS}|q[1-4]|w(?:ee)?k\s*\d+|\d+)(?:[-_. ]*(?:{MONTHS}|\d+))*(?![^\W_])",
    re.IGNORECASE,
)


def pattern_of(name: str) -> str:
    """The pattern that next month's file will fit as well: numbers and months of a name become a star."""
    stem, ending = Path(name).stem, Path(name).suffix
    as_it_is = escaped(stem)
    pattern = _VARYING.sub("*", as_it_is)
    letters = re.sub(r"[\W\d_]", "", pattern)
    return f"{pattern}{ending}" if len(letters) >= 3 else f"{as_it_is}{ending}"


def escaped(name: str) -> str:
    """A name as a pattern that fits nothing else."""
    return re.sub(r"([\[\]*?])", r"[\1]", name)
