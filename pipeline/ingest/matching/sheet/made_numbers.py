"""Numbers for the rows of a log that has none: made of what a row says, so that a grown file keeps them.

The file's name and the place of the row do not count: rows put in above leave every number as it is, and next month's
file that repeats this month's rows is known to repeat them. Rows that say the same of who, when and what, and differ in
something else, are told apart in their order.
"""

from hashlib import blake2b

from pipeline.ingest.records import Record

_DIGEST_BYTES = 6
# What is known once a callback is reported. The rest of its row may be filled in later; its number stays.
_SAID_AT_FIRST = ("install_id", "job_no", "customer", "address", "postcode", "reported_on", "note")


def numbers_of_rows(record: Record, columns: dict[str, list[str]]) -> list[str]:
    """A number for every row of texts by column; empty where the row says nothing."""
    names = [column.name for column in record.columns if column.name in columns]
    first = [columns[name] for name in names if name in _SAID_AT_FIRST]
    rest = [columns[name] for name in names if name not in _SAID_AT_FIRST]
    seen: dict[tuple[str, ...], list[tuple[str, ...]]] = {}
    made = []
    for said, more in zip(
        zip(*first, strict=True), zip(*rest, strict=True) if rest else (() for _ in first[0]), strict=True
    ):
        others = seen.setdefault(said, [])
        if more not in others:
            others.append(more)
        made.append(_number(said, others.index(more)) if any(said) else "")
    return made


def _number(said: tuple[str, ...], place: int) -> str:
    folded = "\x1f".join(" ".join(text.split()).casefold() for text in said)
    number = f"row-{blake2b(folded.encode(), digest_size=_DIGEST_BYTES).hexdigest()}"
    return f"{number}-{place + 1}" if place else number
