"""One key for a job number however it is written: `Job 0-1042`, `1042.0` and `1042` are one job.

Never guesses from digits that are exchanged or missing: that is evidence for linking, not a key.
"""

import re
from collections.abc import Iterable, Mapping

from pipeline.ingest.texts.doors_of_jobs import job_of, only_doors
from pipeline.ingest.texts.words import without_decimals

_NOT_KEPT = re.compile(r"[\W_]")
_LEADING_ZEROS = re.compile(r"(?<![0-9])0+(?=[0-9])")
# The job in a door's number that says which of its job it is, where nothing else says the job: `job_of` as SQL;
# dbt_like_sql/staging/linked_callbacks.sql has the same.
JOB_OF_DOOR = r"""coalesce(installs.job_no, nullif(regexp_extract(
    installs.install_id, '^([^/]*[0-9]{3}[^/]*?) ?[-/.] ?(?:0?[1-9]|[A-Za-z])$', 1), ''))"""
_PREFIX = re.compile(r"^[^\W\d_]+(?=[0-9])")


def plain_job(written: str) -> str:
    """Upper case, without blanks, hyphens, other signs and leading zeros. A written prefix is kept.

    >>> plain_job(" j-001042 a")
    'J1042A'
    """
    text = without_decimals(written.strip().upper())
    return _LEADING_ZEROS.sub("", _NOT_KEPT.sub("", text))


def without_prefix(key: str) -> str:
    """The key without letters before its first digit: they are often left out.

    >>> without_prefix("JOB0042B")
    '42B'
    """
    return _LEADING_ZEROS.sub("", _PREFIX.sub("", key))


def job_keys(
    of_doors: Iterable[str],
    of_callbacks: Iterable[str],
    aliases: Mapping[str, str],
    numbers: Iterable[str] = (),
) -> dict[str, str]:
    """The key of every job number as written.

    of_doors      job numbers as written on doors
    of_callbacks  as written on callbacks; one that misses or has another prefix takes the key of the only door's
                  job with the same number, and one without a number of a door that of the only door of such a job
    aliases       other numbers of a job (order, quote), and the job's own number
    numbers       of doors that say their job, and nothing else says it: a callback may write one whole for the job
    """
    renamed = {plain_job(other): plain_job(job) for other, job in aliases.items()}
    keys = {written: _key(written, renamed) for written in of_doors}
    known = set(keys.values())
    by_number: dict[str, set[str]] = {}
    for key in known:
        by_number.setdefault(without_prefix(key), set()).add(key)
    doors = {plain_job(job): keys[door] for job, door in only_doors(list(keys)).items()}
    doors |= {plain_job(number): _key(job_of(number), renamed) for number in numbers}
    for written in of_callbacks:
        key = _key(written, renamed)
        key = key if key in known else doors.get(key, key)
        alike = by_number.get(without_prefix(key), set())
        keys.setdefault(written, next(iter(alike)) if key not in known and len(alike) == 1 else key)
    return {written: key for written, key in keys.items() if key}


def _key(written: str, renamed: Mapping[str, str]) -> str:
    plain = plain_job(written)
    return renamed.get(plain, plain)
