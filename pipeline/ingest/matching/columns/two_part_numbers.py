"""Doors numbered in two columns: the job, and which door of it, a letter or a small number that comes again.

How such lists look is common practice, no source.
"""

from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.columns.evidence import Evidence
from pipeline.ingest.matching.columns.layout import Layout, is_as_above
from pipeline.ingest.matching.sheet.body import filled
from pipeline.ingest.matching.words.meaning import column_likeness
from pipeline.ingest.matching.words.vocabulary import words_of

# What stands between the two.
BETWEEN_PARTS = "-"
_LONGEST, _FEWEST = 2, 2
# What a heading may say that tells the doors of a job apart; of a leaf it says so.
_OF_DOORS, _OF_LEAVES = 0.9, frozenset({"leaf", "leaves", "panel", "panels", "sash", "pane"})
_DOOR, _JOB = "install_id", "job_no"


def are_parts(layout: Layout, headings: dict[str, str]) -> bool:
    """Whether what is placed as the door's number tells it from the others of its job only.

    headings  of the facts of a door (folded), by column. In a list of doors the two together stand once each; elsewhere
    they are the numbers of doors in another sheet.
    """
    door, job = headings.get(_DOOR), headings.get(_JOB)
    if door is None or job is None or door == job:
        return False
    if "fitted_on" not in headings:
        return _names_doors(layout, job, door)
    evidence = layout.evidence[door]
    if evidence.blank or not evidence.filled or any(len(text) > _LONGEST for text in evidence.texts):
        return False
    both = numbers_together(layout, job, door)
    return evidence.distinct < evidence.filled and len(set(both)) == len(both)


def which_of_its_job(layout: Layout, headings: dict[str, str], job: str, free: list[str]) -> str | None:
    """The only free heading whose count tells the doors of a job apart: 4021 and 1, 4021 and 2.

    headings  of the facts of a door (folded), by column. A count that begins anew is that of leaves elsewhere: here it
    numbers doors in a list that says how many leaves each has, or where the two together are doors of another sheet.
    """
    if "fitted_on" in headings:
        found = [one for one in free if _lists_doors(layout, headings, job, one)]
    else:
        found = [one for one in free if _names_doors(layout, job, one)]
    return found[0] if len(found) == 1 else None


def _lists_doors(layout: Layout, headings: dict[str, str], job: str, door: str) -> bool:
    heading = layout.lowest(door)
    is_called_so = column_likeness("installs", _DOOR, heading) >= _OF_DOORS
    if "leaves" not in headings or not is_called_so or set(words_of(heading)) & _OF_LEAVES:
        return False
    evidence = layout.evidence[door]
    both = numbers_together(layout, job, door)
    # a job that never comes again needs no second number
    comes_again = layout.evidence[job].distinct < len(both) == len(set(both))
    return not evidence.blank and evidence.distinct < evidence.filled and comes_again and _tells_apart(evidence)


def _names_doors(layout: Layout, job: str, door: str) -> bool:
    """Whether both are doors of another sheet, where the row says which door of the job it is."""
    if not _tells_apart(layout.evidence[door]):
        return False
    rows = zip(numbers_together(layout, job, door), layout.cells.texts(door), strict=True)
    both = frozenset(text.casefold() for text, own in rows if own)
    return len(both) >= _FEWEST and layout.known.are_doors(both)


def _tells_apart(evidence: Evidence) -> bool:
    """Whether all cells are a letter, a small number or one with the other."""
    texts = [typed_number(text) for text in evidence.texts]
    return all(len(text) == 1 or (len(text) <= _LONGEST and any(map(str.isdecimal, text))) for text in texts)


def numbers_together(layout: Layout, job: str, door: str) -> list[str]:
    """The number of the door of each row. job, door: headings (folded)."""
    jobs = layout.cells.texts(job)
    jobs = filled(jobs) if is_as_above(layout, job) else jobs
    parts = zip(jobs, layout.cells.texts(door), strict=True)
    return [BETWEEN_PARTS.join(map(typed_number, filter(None, both))) for both in parts]
