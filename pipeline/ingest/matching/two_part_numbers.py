"""Doors numbered in two columns: the job, and which door of it, a letter or a small number that comes again.

How such lists look is common practice, no source.
"""

from pipeline.ingest.cells import typed_number
from pipeline.ingest.matching.body import filled
from pipeline.ingest.matching.layout import Layout, is_as_above

# What stands between the two.
BETWEEN_PARTS = "-"
_LONGEST = 2
_DOOR, _JOB = "install_id", "job_no"


def are_parts(layout: Layout, headings: dict[str, str]) -> bool:
    """Whether what is placed as the door's number tells it from the others of its job only.

    headings  of the facts of a door (folded), by column. In a list of doors the two together stand once each; elsewhere
    they are the numbers of doors in another sheet.
    """
    door, job = headings.get(_DOOR), headings.get(_JOB)
    if door is None or job is None or door == job:
        return False
    evidence = layout.evidence[door]
    if evidence.blank or not evidence.filled or any(len(text) > _LONGEST for text in evidence.texts):
        return False
    both = numbers_together(layout, job, door)
    if "fitted_on" in headings:
        return evidence.distinct < evidence.filled and len(set(both)) == len(both)
    return layout.known.are_doors(frozenset(text.casefold() for text in both))


def numbers_together(layout: Layout, job: str, door: str) -> list[str]:
    """The number of the door of each row. job, door: headings (folded)."""
    jobs = layout.cells.texts(job)
    jobs = filled(jobs) if is_as_above(layout, job) else jobs
    parts = zip(jobs, layout.cells.texts(door), strict=True)
    return [BETWEEN_PARTS.join(map(typed_number, filter(None, both))) for both in parts]
