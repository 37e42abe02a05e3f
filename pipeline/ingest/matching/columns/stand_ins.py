"""Columns that must be there and whose heading does not say so: another column that says the same stands in for them.

A job's number for a door's, the only days for the day of fitting. Where two could, none does: a person decides.
"""

from dataclasses import replace

from pipeline.ingest.matching.columns.borne_out import bears_out
from pipeline.ingest.matching.columns.by_a_word import by_a_word, by_whom
from pipeline.ingest.matching.columns.days_of_calls import are_turned_round
from pipeline.ingest.matching.columns.elimination import (
    ORDERED,
    by_elimination,
    counts_rows,
    in_order,
    is_elsewhere,
    only,
)
from pipeline.ingest.matching.columns.job_numbers import numbers_doors
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.numbering import (
    counts_lines,
    likeness_of_a_number,
)
from pipeline.ingest.matching.columns.placed import FAINT, LABEL_SURE, Assignment, Placed, headings_of
from pipeline.ingest.matching.columns.two_part_numbers import are_parts, which_of_its_job
from pipeline.ingest.matching.words.meaning import SURE, column_likeness, likeness_under
from pipeline.ingest.matching.words.order_days import is_of_an_order
from pipeline.ingest.records import CALLBACKS, INSTALLS, NUMBERS_OF, TRAINING, Record

_JOB_IS_DOOR = "no other column numbers the doors; the job's number is taken for the door's"
_JOB_AND_DOOR = "the job and which door of it, as the door alone comes again"
_JOB_NOT_LINE = "the column of running numbers counts the lines of the sheet; the job's number is taken for the door's"
# Days that a record must have, with the columns that show that a sheet holds the record at all.
_DAYS_OF = {
    INSTALLS.name: {"fitted_on": {"install_id", "crew"}},
    CALLBACKS.name: {"reported_on": {"note"}},
    TRAINING.name: {"trained_on": {"crew", "step"}},
}
# What shows that a sheet lists doors; so many of it are enough.
_OF_A_DOOR, _FACTS = ("width_mm", "height_mm", "leaves", "product", "material"), 2


def with_stand_ins(
    record: Record, layout: Layout, found: Assignment, taken: frozenset[str] = frozenset()
) -> Assignment:
    """The assignment, where a column that must be there is wanting and another says the same, with that one in it.

    taken  headings that mean something else
    """
    placed = dict(found.placed)
    if record is CALLBACKS and "reported_on" not in placed and "logged_on" in placed:
        one = placed.pop("logged_on")
        placed["reported_on"] = replace(
            one, column="reported_on", why=f"no column says when it was reported; {one.why}"
        )
    if record is CALLBACKS and CALLBACKS.key[0] not in placed:
        placed = _with_own_numbers(layout, placed)
    for name, others in _DAYS_OF.get(record.name, {}).items():
        if others <= placed.keys() and name not in placed:
            placed |= _only_days(record, name, layout, {one.heading for one in placed.values()})
    if record is INSTALLS and "crew" not in placed and sum(name in placed for name in _OF_A_DOOR) >= _FACTS:
        placed |= _by_whom(layout, {one.heading for one in placed.values()} | taken)
    own = {name: one.heading for name, one in placed.items() if one.heading in layout.evidence}
    left = by_elimination(record, layout, own, {*taken, *own.values()})
    for name in (one for one in _DAYS_OF.get(record.name, {}) if one not in placed and one not in left):
        placed |= _likely_day(record, name, layout, (own, found.faint))
    if record is CALLBACKS:
        placed = _in_order_of_work(layout, placed)
        placed |= {} if "visited_on" in placed else _likely_day(record, "visited_on", layout, (own, found.faint))
    if record is INSTALLS:
        worded = by_a_word(layout, own, {*taken, *(one.heading for one in placed.values())})
        left = {name: one for name, one in worded.items() if name not in placed} | left
    if record is INSTALLS and not {"install_id", "job_no"} & {*placed, *left} and len(own) >= _FACTS:
        placed |= _likely_number(layout, found.faint)
    for name, (heading, why) in left.items():
        if not (name == INSTALLS.key[0] and "job_no" in placed and _are_doors(record, layout, placed)):
            placed[name] = Placed(heading, record.name, name, SURE, why)
    return Assignment(_in_two_parts(layout, _with_doors(record, layout, placed), taken), found.faint)


def _with_doors(record: Record, layout: Layout, placed: dict[str, Placed]) -> dict[str, Placed]:
    """What was placed, the number of the job for that of the door where no other numbers it."""
    placed = dict(placed)
    door = placed.get("install_id")
    is_line = door is not None and door.is_column and counts_lines(layout, door.heading)
    if record is INSTALLS and is_line and _is_once(layout, placed.get("job_no")):
        door = placed["install_id"] = replace(placed["job_no"], column="install_id", why=_JOB_NOT_LINE)
    if record is INSTALLS and door and "job_no" not in placed and _reads_as_job(door, layout):
        door = placed["install_id"] = replace(door, why=_JOB_IS_DOOR)
        placed["job_no"] = replace(door, column="job_no")
    if door is None and "job_no" in placed and _are_doors(record, layout, placed):
        one = placed["job_no"]
        placed["install_id"] = replace(one, column="install_id", why=_JOB_IS_DOOR)
    return placed


def _in_two_parts(layout: Layout, placed: dict[str, Placed], taken: frozenset[str] = frozenset()) -> dict[str, Placed]:
    """What was placed, the number of a door with that of its job before it where the door's alone comes again."""
    headings = headings_of(placed)
    if are_parts(layout, headings):
        both = replace(placed["install_id"], after=placed["job_no"].heading, why=_JOB_AND_DOOR)
        return placed | {"install_id": both}
    job = placed.get("job_no", placed.get("install_id"))
    if job is None or headings.get("install_id", job.heading) != job.heading:
        return placed
    free = [one for one in layout.evidence if one not in taken and one not in headings.values()]
    door = which_of_its_job(layout, headings, job.heading, free) if job.is_column else None
    if door is None:
        return placed
    both = Placed(door, job.record, "install_id", SURE, _JOB_AND_DOOR, after=job.heading)
    return placed | {"install_id": both, "job_no": replace(job, column="job_no")}


def _only_days(record: Record, name: str, layout: Layout, taken: set[str]) -> dict[str, Placed]:
    """The day that a record must have, where the sheet has one column of dates and that says nothing else."""
    days = [heading for heading, one in layout.evidence.items() if one.are_days]
    is_other = any(is_elsewhere(one, layout) or is_of_an_order(layout.said(one)) for one in days)
    return {} if is_other or taken & set(days) else _sole(record, name, days, "the only dates of the sheet")


def _sole(record: Record, name: str, headings: list[str], why: str) -> dict[str, Placed]:
    """A column given to the only heading that it can be; nothing where there is none or a person must choose."""
    heading = only(headings)
    return {name: Placed(heading, record.name, name, SURE, why)} if heading else {}


def _by_whom(layout: Layout, taken: set[str]) -> dict[str, Placed]:
    """In a list of doors with their sizes, the crew where a heading says no more than by whom."""
    found = by_whom(layout, taken)
    are_crews = all(bears_out(INSTALLS, INSTALLS.column("crew"), layout.evidence[one]) == 1.0 for one in found)
    return _sole(INSTALLS, "crew", found, "says by whom, in a list of doors") if are_crews else {}


def _likely_number(layout: Layout, faint: tuple[Placed, ...]) -> dict[str, Placed]:
    """The only column whose heading may say the doors' numbers and that holds another one in every row."""
    found = [
        one.heading
        for one in faint
        if one.column == INSTALLS.key[0]
        and not is_elsewhere(one.heading, layout)
        and 0 < (evidence := layout.evidence[one.heading]).distinct == evidence.filled
        and not evidence.blank
        and all(any(map(str.isdecimal, text)) and " " not in text for text in evidence.texts)
    ]
    return _sole(INSTALLS, INSTALLS.key[0], found, "its heading may say it, and it holds another one in every row")


def _with_own_numbers(layout: Layout, placed: dict[str, Placed]) -> dict[str, Placed]:
    """Of two columns named as numbers of jobs or doors, the one that counts the rows up is the callbacks' own only."""
    used = {name: one for name, one in placed.items() if name in NUMBERS_OF}
    said = [one for one in layout.evidence if likeness_of_a_number(layout.lowest(one)) >= SURE]
    named = list(dict.fromkeys([*said, *(one.heading for one in used.values())]))
    counted = [one for one in named if counts_rows(layout, one)]
    if len(named) != 2 or len(counted) != 1 or layout.known.knows(layout.evidence[counted[0]].texts):
        return placed
    other = next(one for one in named if one != counted[0])
    name = next((name for name, one in used.items() if one.heading == other), next(iter(used), "job_no"))
    told = layout.evidence[other].told
    others = {one: placed[one] for one in placed if placed[one].heading != counted[0]}
    return others | {
        CALLBACKS.key[0]: Placed(counted[0], CALLBACKS.name, CALLBACKS.key[0], SURE, "counts the rows up"),
        name: Placed(other, CALLBACKS.name, name, SURE, f"reads as {name.replace('_', ' ')}; {told}"),
    }


def _in_order_of_work(layout: Layout, placed: dict[str, Placed]) -> dict[str, Placed]:
    """What was placed; visits that lie before their reports are the reports, where headings let them be."""
    reported, visited = placed.get("reported_on"), placed.get("visited_on")
    if reported is None or visited is None or not are_turned_round(layout, reported.heading, visited.heading):
        return placed
    others = {name: one for name, one in placed.items() if name != "visited_on"}
    pairs = (("reported_on", visited), ("visited_on", reported))
    if any(likeness_under(CALLBACKS.name, name, layout.said(one.heading)) < SURE for name, one in pairs):
        return others
    why = "nobody visits before the call"
    return others | {name: replace(one, column=name, why=f"reads as {name}; dates, {why}") for name, one in pairs}


def _likely_day(
    record: Record, name: str, layout: Layout, given: tuple[dict[str, str], tuple[Placed, ...]]
) -> dict[str, Placed]:
    """The day that a record must have: the only column whose heading may say it and that lies in the order of the work.

    given  headings of the columns that have one, and what other headings may say
    """
    own, faint = given
    may_say = [one.heading for one in faint if one.column == name and layout.evidence[one.heading].are_days]
    if (record.name, name) not in ORDERED or not may_say:
        return {}
    found = in_order(record.name, name, layout, own, may_say)
    return _sole(record, name, found, "its heading may say it, and its dates lie in the order of the work")


def _is_once(layout: Layout, job: Placed | None) -> bool:
    """Whether every row has a number of its own there."""
    evidence = layout.evidence.get(job.heading) if job is not None else None
    return evidence is not None and evidence.distinct == evidence.filled and not evidence.blank


def _reads_as_job(door: Placed, layout: Layout) -> bool:
    """Whether the column of the doors' numbers is named as that of the jobs, or no number of either: PO."""
    if not door.is_column:
        return False
    heading = layout.lowest(door.heading)
    is_of_jobs = column_likeness(INSTALLS.name, "job_no", heading) >= LABEL_SURE
    return is_of_jobs or (door.heading in layout.evidence and likeness_of_a_number(heading) < FAINT)


def _are_doors(record: Record, layout: Layout, placed: dict[str, Placed]) -> bool:
    """Whether job numbers may stand for doors: none twice in a list of doors; elsewhere if no others are known."""
    if record is not INSTALLS or placed["job_no"].heading not in layout.evidence:
        return False
    if all(name in placed for name in INSTALLS.required if name != "install_id"):
        return numbers_doors(layout, headings_of(placed))
    known = layout.known
    return not known.doors or known.are_some_doors(layout.evidence[placed["job_no"].heading].texts)
