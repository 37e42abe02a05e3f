"""Numbers of doors that say which of their job they are: C4114/1, 20417-A; common practice, no source."""

import re
from collections.abc import Iterable

# The job, with as many digits as tell one from another, and one sign or two for which of its doors.
_OF_JOB = re.compile(r"(?P<job>[^/]*\d{3}[^/]*?)\s?[-/.]\s?(?:0?[1-9]|[A-Za-z])")


def job_of(number: str) -> str:
    """The number of the job in that of one of its doors; empty where it says none.

    >>> job_of("C4114/1"), job_of("20417 - A"), job_of("D-12"), job_of("1042.10")
    ('C4114', '20417', '', '')
    """
    found = _OF_JOB.fullmatch(number.strip())
    return found["job"] if found else ""


def only_doors(numbers: Iterable[str]) -> dict[str, str]:
    """By number of a job: the number of its door, where only one of these is of that job.

    >>> only_doors(["C4114/1", "C4105/1", "C4105/2"])
    {'C4114': 'C4114/1'}
    """
    found: dict[str, list[str]] = {}
    for number in numbers:
        if job := job_of(number):
            found.setdefault(job, []).append(number)
    return {job: doors[0] for job, doors in found.items() if len(doors) == 1}
