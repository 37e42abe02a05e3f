"""Gives the headings of a sheet to the columns of one record: the likeness of the words, borne out by the contents."""

import re
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import linear_sum_assignment

from pipeline.ingest.declared.mapping import LookUp, folded
from pipeline.ingest.matching.columns.borne_out import bears_out
from pipeline.ingest.matching.columns.by_a_word import by_a_word, by_whom
from pipeline.ingest.matching.columns.cost_parts import COST
from pipeline.ingest.matching.columns.days_of_calls import are_turned_round
from pipeline.ingest.matching.columns.elimination import (
    ORDERED,
    by_elimination,
    counts_rows,
    in_order,
    is_elsewhere,
    only,
)
from pipeline.ingest.matching.columns.evidence import look_at
from pipeline.ingest.matching.columns.job_numbers import numbers_doors
from pipeline.ingest.matching.columns.layout import Layout, said
from pipeline.ingest.matching.columns.less_sure import less_sure
from pipeline.ingest.matching.columns.numbering import (
    as_number_of,
    counts_lines,
    likeness_of_a_number,
    names_kinds,
    names_products,
)
from pipeline.ingest.matching.columns.two_part_numbers import are_parts, which_of_its_job
from pipeline.ingest.matching.columns.whose_fault import asked_of
from pipeline.ingest.matching.sheet.grid import Cell, Grid, shown
from pipeline.ingest.matching.sheet.headings import without_number
from pipeline.ingest.matching.words.contents import BY_CONTENTS, as_kind_of_blame, as_kind_of_fault, is_by_contents
from pipeline.ingest.matching.words.customers_money import is_customers_money
from pipeline.ingest.matching.words.listed_answers import lists_its_cells
from pipeline.ingest.matching.words.meaning import SURE, UNDECIDED, column_likeness, likeness_under
from pipeline.ingest.matching.words.order_days import is_of_an_order
from pipeline.ingest.records import CALLBACKS, DAY, INSTALLS, NUMBERS_OF, READINGS, TRAINING, Column, Record

# Below this likeness a heading is not even named as a candidate.
FAINT = 0.35
LABEL_SURE = 0.9
# How much a sure pair outweighs those hardly sure, and what order weighs where all else is equal.
_SHARPNESS, _FIRST = 4, 1e-4
# Names of sheets and lines that are no crew's; a name may begin as a month does: Maren, Janet.
NO_CREW = re.compile(
    r"\d{3}|\b(?:sheets?|tables?|data|pages?|weeks?|wk|months?|sites?|doors?|forms?|all|q[1-4]|"
    r"jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|"
    r"nov(?:ember)?|dec(?:ember)?)(?![^\W\d_])|^\W*\d*\W*$",
    re.IGNORECASE,
)
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
# What a column that counts the lines weighs as a number of doors, or as what was read.
_COUNTED = 0.75
# Columns of callbacks that a heading of kinds, such as reason, may be by what stands in it.
_AS_KIND = {"fault": as_kind_of_fault, "responsibility": as_kind_of_blame}


@dataclass(frozen=True)
class Placed:
    """A heading (folded) given to a column of a record, and why.

    is_above  a label above the header, as written; is_sheet: the name of the sheet
    is_line  the label of lines between the rows, or nothing where a name stands there alone
    place     of the heading, from the left
    said      the same text for all rows, which no cell of the sheet says
    after     the heading (folded) whose cell goes before it, where it tells of a number only its last part
    look_up   where it stands in another sheet; the heading is that by which it is found; unit: that it has there
    """

    heading: str
    record: str
    column: str
    sure: float
    why: str
    is_above: bool = False
    is_sheet: bool = False
    is_line: bool = False
    place: int = 0
    after: str = ""
    said: str = ""
    look_up: LookUp | None = None
    unit: str | None = None

    @property
    def is_column(self) -> bool:
        """Whether it is the heading of a column."""
        return not (self.is_above or self.is_sheet or self.is_line or self.said or self.look_up)


@dataclass(frozen=True)
class Assignment:
    """placed: by column; faint: headings that may be meant, the likeliest first."""

    placed: dict[str, Placed]
    faint: tuple[Placed, ...]


def headings_of(placed: dict[str, Placed]) -> dict[str, str]:
    """The headings (folded) of what columns of the sheet say, by column."""
    return {name: one.heading for name, one in placed.items() if one.is_column}


def assign(record: Record, layout: Layout, taken: frozenset[str] = frozenset()) -> Assignment:
    """The best giving, as a whole, of headings that are not taken yet: each heading once, each column once."""
    texts = {heading: without_number(layout.said(heading)) for heading in layout.evidence if heading not in taken}
    pairs = [_weighed(record, column, named, layout) for column in record.columns for named in texts.items()]
    pairs.sort(key=lambda one: -one.sure)
    placed = {one.column: one for one in best_together([one for one in pairs if one.sure >= SURE], record)}
    used = {one.heading for one in placed.values()}
    faint = tuple(one for one in pairs if FAINT <= one.sure < SURE and one.heading not in used)
    return Assignment(placed, faint)


def best_together(pairs: list[Placed], record: Record) -> list[Placed]:
    """Of what is sure enough, each heading and column at most once, so that all of it together is surest.

    One sure pair weighs more than two that are hardly sure; where all else is equal, required columns come first and
    then the headings further left.
    """
    if not pairs:
        return []
    headings = list(dict.fromkeys(one.heading for one in sorted(pairs, key=lambda one: one.place)))
    columns = [column.name for column in record.columns]
    weights = np.zeros((len(columns), len(headings)))
    by_place = {}
    for one in pairs:
        at = columns.index(one.column), headings.index(one.heading)
        first = _FIRST * (record.column(one.column).is_required + 1 - at[1] / len(headings))
        weights[at], by_place[at] = one.sure**_SHARPNESS + first, one
    rows, places = linear_sum_assignment(weights, maximize=True)
    return [by_place[at] for at in zip(rows.tolist(), places.tolist(), strict=True) if at in by_place]


def with_labels_above(layout: Layout, facts: Assignment) -> Assignment:
    """The assignment of a door's facts, those that no column says taken from labels above the header."""
    placed = dict(facts.placed)
    # what stands again between the rows is of those under it, not of all
    again = set(map(folded, layout.cells.labels_of_lines()))
    for label, value in labels_above(layout):
        for column in INSTALLS.columns:
            likeness = column_likeness(INSTALLS.name, column.name, label)
            is_open = column.name not in placed and folded(label) not in again
            if is_open and likeness >= LABEL_SURE and bears_out(INSTALLS, column, look_at([value])):
                what = "" if column.is_personal else f": {shown(value)}"
                why = f"reads as {column.name.replace('_', ' ')}; stands above the header{what}"
                placed[column.name] = Placed(label, INSTALLS.name, column.name, likeness, why, is_above=True)
                break
    if "crew" not in placed and layout.crew_said:
        why = "no column says the crew, and the name of the file does"
        placed["crew"] = Placed("", INSTALLS.name, "crew", SURE, why, said=layout.crew_said)
    if "crew" not in placed and layout.is_of_crew:
        why = "no column says the crew, and every sheet bears the name of one"
        placed["crew"] = Placed("", INSTALLS.name, "crew", SURE, why, is_sheet=True)
    return Assignment(placed, facts.faint)


def labels_above(layout: Layout) -> list[tuple[str, Cell]]:
    """(label, what stands beside it) of the rows above the header."""
    found: list[tuple[str, Cell]] = []
    grid = layout.grid
    for row in range(layout.heads.row):
        if _stands_over_groups(grid, row):
            continue
        for column in range(grid.width):
            text = grid.text(row, column)
            name, _, rest = text.partition(":")
            if rest.strip():
                found.append((name.strip(), rest.strip()))
            elif name and said(grid.text(row, beside := grid.column_after(row, column))) < LABEL_SURE:
                cells = grid.rows[row]
                found += [(name.strip(), cells[beside])] if beside < len(cells) and shown(cells[beside]) else []
    return found


def _stands_over_groups(grid: Grid, row: int) -> bool:
    """Whether the texts of a row are names of groups of columns: two and more of them merged over several columns."""
    return sum(top == row == bottom and right > left for top, left, bottom, right in grid.merges) > 1


def _weighed(record: Record, column: Column, named: tuple[str, str], layout: Layout) -> Placed:
    """A heading given to a column, and how sure. named: the heading (folded), and what it says."""
    heading, text = named
    is_no_work = record is INSTALLS and column.kind == DAY and is_of_an_order(text)
    likeness = 0.0 if is_no_work else likeness_under(record.name, column.name, text)
    evidence = layout.evidence[heading]
    likeness, told = as_number_of(record, column.name, text, likeness, (evidence, layout.known))
    is_list = lists_its_cells(column.name, text, evidence.texts)
    if likeness < BY_CONTENTS and (is_list or is_by_contents(record.name, column.name, evidence.texts)):
        likeness, told = BY_CONTENTS, f"by what stands in it; {told}"
    if party := asked_of(record.name, column.name, heading, layout):
        why = f"a yes under it says {party}; a no does not say whose fault it was"
        return Placed(heading, record.name, column.name, BY_CONTENTS, why, place=layout.heads.places[heading])
    as_kind = _AS_KIND.get(column.name) if record is CALLBACKS else None
    kind = as_kind(text, evidence.texts) if as_kind else None
    if kind is not None and not evidence.are_days:
        why = f"reads as {column.name}; {told}, kinds of {column.name}"
        sure = max(likeness, kind) if kind else 0.0
        return Placed(heading, record.name, column.name, sure, why, place=layout.heads.places[heading])
    if record is INSTALLS and column.name == INSTALLS.key[0]:
        likeness *= 0.0 if names_kinds(layout, heading) else _COUNTED if counts_lines(layout, heading) else 1.0
    if record is READINGS and column.name == "value" and likeness >= SURE and counts_rows(layout, heading):
        likeness *= _COUNTED
    if record is INSTALLS and column.name == "product" and names_products(layout, heading):
        likeness, told = BY_CONTENTS, f"kinds of door beside their numbers; {told}"
    why = f"reads as {column.name.replace('_', ' ')}; {told}"
    sure = likeness * bears_out(record, column, evidence) * less_sure(column.name, text, evidence)
    if record is CALLBACKS and column.name == COST and is_customers_money(text):
        sure = min(sure, UNDECIDED)
    return Placed(heading, record.name, column.name, sure, why, place=layout.heads.places[heading])


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
