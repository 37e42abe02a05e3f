"""Whether the numbers of jobs may stand for those of the doors, where no column of a list numbers the doors."""

from pipeline.ingest.matching.columns.elimination import may_number
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.numbering import NEARLY_ONCE
from pipeline.ingest.matching.sheet.body import filled
from pipeline.ingest.records import INSTALLS

_SIZES = ("width_mm", "height_mm")
# In a list of readings a door has at least so many rows.
_FEWEST_ROWS = 3


def numbers_doors(layout: Layout, headings: dict[str, str]) -> bool:
    """Whether every job is one door: its number stands once, a slip apart, or all its many rows say the same.

    headings  of the facts of the doors (folded), by column
    """
    evidence = layout.evidence[headings["job_no"]]
    if any(may_number(INSTALLS, layout, one) for one in layout.evidence if one not in headings.values()):
        return False
    is_once = evidence.distinct >= NEARLY_ONCE * evidence.filled > 0
    return is_once or _is_of_one_door(layout, headings)


def _is_of_one_door(layout: Layout, headings: dict[str, str]) -> bool:
    """Whether the rows of each job agree in all that is said of the door, its size too, and are too many for doors."""
    evidence = layout.evidence[headings["job_no"]]
    if not set(_SIZES) <= headings.keys() or evidence.filled < _FEWEST_ROWS * evidence.distinct:
        return False
    jobs, *facts = (filled(layout.cells.texts(one)) for one in [headings["job_no"], *headings.values()])
    said: dict[str, set[tuple[str, ...]]] = {}
    for job, *row in zip(jobs, *facts, strict=True):
        said.setdefault(job, set()).add(tuple(row))
    return all(len(rows) == 1 for rows in said.values())
