"""Lists of doors that want what another sheet says of their jobs: crew and day stand there once for all doors of a job.

Or of their types: a builder's house types have sizes and leaves in a list of their own.

How small databases and offices keep jobs, customers and doors apart is common practice, no source.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from pipeline.ingest.declared.mapping import LookUp, folded
from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.columns.assign import assign
from pipeline.ingest.matching.columns.elimination import OF_A_NUMBER
from pipeline.ingest.matching.columns.known import Join
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.numbering import NEARLY_ONCE
from pipeline.ingest.matching.columns.placed import Assignment, Placed
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.sources import PEOPLE
from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.matching.words.vocabulary import words_of
from pipeline.ingest.matching.workbooks.file_patterns import pattern_of
from pipeline.ingest.records import CALLBACKS, CHECKS, INSTALLS, INSTRUMENTS, READINGS, TRAINING

# What a job has in common for all its doors; what tells one door from another is never looked up.
_OF_A_JOB = (
    "job_no", "crew", "fitted_on", "handed_over_on", "surveyed_on", "customer", "address", "postcode", "product",
    "material", "colour", "work", "exposure", "substrate",
)  # fmt: skip
# What all doors of a type have in common.
_OF_A_TYPE = ("width_mm", "height_mm", "leaves", "glass_mm", "leaf_weight_kg", "product", "material", "colour")
_MEASURED = frozenset({"width_mm", "height_mm", "glass_mm", "leaf_weight_kg"})
# A size without a unit is in mm where all are so large.
_LARGE = 1000
_SIZES = frozenset({"width_mm", "height_mm"})
_OF_DOORS = frozenset({INSTALLS.name, READINGS.name, CHECKS.name})
_LOGS = frozenset({CALLBACKS.name, TRAINING.name, INSTRUMENTS.name})
_JOB = "job_no"
_NEEDED = ("crew", "fitted_on")
# So many of the numbers must be there, and so many different ones are no accident.
_ARE_THERE, _FEWEST = 0.9, 2
# A number of fewer signs may be anything: leaves, lines.
_TELLING = 3


@dataclass(frozen=True)
class Laid:
    """Sheets of one layout in a file, with what they were first taken for. is_all: the file has no others."""

    path: Path
    proposal: Proposal
    layouts: list[Layout]
    is_all: bool = False

    @property
    def layout(self) -> Layout:
        """The layout of the fullest of the sheets."""
        return self.proposal.layout

    @property
    def is_table(self) -> bool:
        """Whether it is one plain table."""
        one = self.proposal
        return not (one.is_form or one.is_foot or one.is_part or one.is_across or one.begins_with)

    def texts(self, heading: str) -> list[str]:
        """The filled cells under a heading (folded) of all its sheets, in small letters."""
        cells = (text for one in self.layouts for text in one.cells.texts(heading))
        return [typed_number(text).casefold() for text in cells if text]


def joins_of(sheets: list[Laid]) -> tuple[Join, ...]:
    """What the lists of doors among the sheets look up in the others."""
    tables = [one for one in sheets if one.is_table]
    if len(tables) < 2:
        return ()
    facts = {id(one): assign(INSTALLS, one.layout).placed for one in tables}
    found = []
    for doors in tables:
        has = facts[id(doors)]
        if not _lists_doors(doors, has):
            continue
        types = (_join_types(doors, one, has, facts[id(one)]) for one in tables if one is not doors)
        found += list(filter(None, types))[:1]
        if not _says_something(doors, has):
            continue
        others = [(one, facts[id(one)]) for one in tables if one is not doors and _lists_jobs(one, facts[id(one)])]
        others += [(_together(files), says) for files, says in _of_one_kind(others, doors.path)]
        joins = [join for other, says in others if (join := _join(doors, other, has, says)) is not None]
        if joins:
            # the first of several that say as much: one sheet before all files of its kind
            found.append(max(joins, key=lambda one: len(one.columns)))
    lists = {one.doors for one in found}
    return tuple(one for one in found if one.there not in lists)


def with_looked_up(layout: Layout, facts: Assignment) -> Assignment:
    """The facts of a list of doors with those that stand in another sheet."""
    placed = dict(facts.placed)
    for join in layout.known.joins:
        for name, look_up in join.columns if join.doors == layout.named else ():
            heading, why, unit = folded(look_up.here), f"stands in {join.names[0]}", dict(join.units).get(name)
            found = Placed(heading, INSTALLS.name, name, SURE, why, look_up=look_up, unit=unit)
            placed[name] = found if name == _JOB else placed.get(name, found)
    return replace(facts, placed=placed)


def with_job_numbers(layout: Layout, calls: Assignment) -> Assignment:
    """The columns of callbacks with the job's number as the doors have it: looked up by the same key."""
    job = calls.placed.get(_JOB)
    for join in layout.known.joins:
        look_up = dict(join.columns).get(_JOB)
        # a sheet of another file cannot be told from here
        if job and job.is_column and look_up and look_up.file and folded(look_up.here) == job.heading:
            found = replace(job, look_up=look_up, why=f"stands in {join.names[0]}")
            return replace(calls, placed=calls.placed | {_JOB: found})
    return calls


def looked_into(layout: Layout) -> str | None:
    """What is told of a sheet in which a list of doors looks something up; None of any other."""
    join = next((one for one in layout.known.joins if one.there == layout.named), None)
    if join is None:
        return None
    names = [name.replace("_", " ") for name, _ in join.columns]
    used = {folded(one) for _, look_up in join.columns for one in (look_up.column, look_up.there)}
    left = [repr(layout.written(heading)) for heading in layout.evidence if heading not in used]
    told = f"{join.names[1]} takes from it, by '{join.columns[0][1].there}', {', '.join(names)}"
    return f"{told}; not read: {', '.join(left)}" if left else told


def _of_one_kind(
    jobs: list[tuple[Laid, dict[str, Placed]]], path: Path
) -> Iterator[tuple[list[Laid], dict[str, Placed]]]:
    """Lists of jobs in several other files laid out and named alike, as those of several years, with what they say."""
    kinds: dict[tuple[tuple[str, ...], str], list[tuple[Laid, dict[str, Placed]]]] = {}
    for one, says in jobs:
        if one.path != path:
            kinds.setdefault((one.layout.named, pattern_of(one.path.name)), []).append((one, says))
    for alike in kinds.values():
        if len({one.path for one, _ in alike}) > 1:
            yield [one for one, _ in alike], alike[0][1]


def _together(files: list[Laid]) -> Laid:
    """Files of one kind as one, under the name of the first."""
    return replace(files[0], layouts=[layout for one in files for layout in one.layouts])


def _lists_doors(one: Laid, facts: dict[str, Placed]) -> bool:
    """Whether a sheet has a row for every door, each with a number of its own."""
    door = facts.get(INSTALLS.key[0])
    is_of_others = one.proposal.columns.keys() - _OF_DOORS
    if door is None or not door.is_column or door.after or is_of_others:
        return False
    evidence = one.layout.evidence[door.heading]
    return evidence.distinct >= max(_FEWEST, NEARLY_ONCE * evidence.filled)


def _says_something(one: Laid, facts: dict[str, Placed]) -> bool:
    """Whether a list of doors says something of each: a size, or what was read."""
    return bool(facts.keys() & {*_SIZES, "leaves"} or one.proposal.each)


def _lists_jobs(one: Laid, facts: dict[str, Placed]) -> bool:
    """Whether a sheet has nothing that tells one door of a job from another, and is no log: no size, nothing read.

    A log of calls may have one for every job, and names customers as well.
    """
    is_log = bool(one.proposal.columns.keys() & _LOGS)
    return not (is_log or one.proposal.each or one.proposal.items or facts.keys() & _SIZES)


def _join_types(doors: Laid, other: Laid, has: dict[str, Placed], says: dict[str, Placed]) -> Join | None:
    """What a list of doors without any size takes from a list of their types; None where there is no such list."""
    is_whole = INSTALLS.name in doors.proposal.columns and not has.keys() & {*_SIZES, "leaves"}
    is_of_types = bool(says.keys() & _SIZES) and not any(name.endswith("_on") for name in says)
    by = max(_numbers(doors, other, has), default=None) if is_whole and is_of_types else None
    if by is None or len(set(doors.texts(by[1]))) == len(doors.texts(by[1])):
        return None
    units = {name: unit for name in _MEASURED & says.keys() if (unit := _unit_of(other, says[name]))}
    names = [name for name in _OF_A_TYPE if name not in has and (name in units or name not in _MEASURED)]
    columns = _beside(says, names, by[1:])
    return _joined(doors, other, by[1:], columns, units) if columns.keys() & _SIZES else None


def _unit_of(other: Laid, size: Placed) -> str | None:
    """The unit of a size in a list of types; None where it is in doubt."""
    values = other.layout.evidence[size.heading].values
    return split_unit(other.layout.written(size.heading))[1] or ("mm" if min(values, default=0) >= _LARGE else None)


def _join(doors: Laid, other: Laid, has: dict[str, Placed], says: dict[str, Placed]) -> Join | None:
    """What one list of doors wants and another sheet says, by a number that both have; None where that is nothing."""
    is_whole = INSTALLS.name in doors.proposal.columns
    wanting = [] if is_whole else [name for name in _NEEDED if name not in has]
    if any(name not in says for name in wanting) or (not wanting and "customer" in has):
        return None
    by = max(_numbers(doors, other, has), default=None)
    if by is None:
        return None
    _, here, there = by
    names = [name for name in (_OF_A_JOB if wanting else PEOPLE) if name not in has]
    if wanting and _JOB in has and has[_JOB].heading == here and (job := _known_as(other, there)) is not None:
        names, says = [*names, _JOB], {**says, _JOB: job}
    columns = _beside(says, names, (here, there))
    if not columns or (not wanting and "customer" not in columns):
        return None
    return _joined(doors, other, (here, there), columns, {})


def _beside(says: dict[str, Placed], names: list[str], by: tuple[str, str]) -> dict[str, Placed]:
    """Those of the columns that a sheet says, beside the number by which they are found."""
    return {
        name: says[name] for name in names if name in says and says[name].is_column and says[name].heading not in by
    }


def _known_as(other: Laid, key: str) -> Placed | None:
    """The number by which people know a job, beside the key that a program gives it; None where there is none."""
    job = assign(INSTALLS, other.layout, frozenset({key})).placed.get(_JOB)
    if job is None or not job.is_column:
        return None
    texts = other.texts(job.heading)
    return job if len(set(texts)) == len(texts) == len(other.texts(key)) else None


def _joined(doors: Laid, other: Laid, by: tuple[str, str], columns: dict[str, Placed], units: dict[str, str]) -> Join:
    """What is looked up, as it is written down. by: the headings of the number that both have, here and there."""
    (here, there), written = by, other.layout.written
    where = {
        "here": doors.layout.written(here),
        "there": written(there),
        "file": "" if other.path == doors.path else pattern_of(other.path.name),
        # the one sheet of next year's workbook has another name
        "sheet": "*" if other.is_all or len(other.layouts) > 1 else other.layout.grid.name or "*",
    }
    n_rows = other.layout.heads.n_rows
    found = tuple((name, LookUp(written(one.heading), header_rows=n_rows, **where)) for name, one in columns.items())
    names_of_both = (_named(other, doors.path), _named(doors, other.path))
    return Join(doors.layout.named, other.layout.named, found, names_of_both, tuple(units.items()))


def _numbers(doors: Laid, other: Laid, has: dict[str, Placed]) -> Iterator[tuple[int, str, str]]:
    """(how many they share, the heading among the doors, that of the other sheet) of numbers that both have."""
    unique = {}
    n_rows = sum(layout.cells.height for layout in other.layouts)
    for there, evidence in other.layout.evidence.items():
        texts = other.texts(there)
        if not evidence.are_days and len(texts) >= _FEWEST and len(set(texts)) == n_rows:
            unique[there] = set(texts)
    for here, evidence in doors.layout.evidence.items():
        mine = set(doors.texts(here))
        if evidence.are_days or here == has[INSTALLS.key[0]].heading or len(mine) < _FEWEST:
            continue
        for there, theirs in unique.items():
            shared = len(mine & theirs)
            if shared >= _ARE_THERE * len(mine) and _is_one_number(here, there, mine):
                yield shared, here, there


def _is_one_number(here: str, there: str, texts: set[str]) -> bool:
    """Whether two headings number the same: by their words, or as such numbers are nothing else."""
    if (set(words_of(here)) & set(words_of(there))) - OF_A_NUMBER:
        return True
    return all(len(text) >= _TELLING and any(map(str.isdecimal, text)) for text in texts)


def _named(one: Laid, path: Path) -> str:
    """What a sheet is called beside one of the file at path."""
    name = one.layout.grid.name
    of_file = f" of {one.path.name}" if one.path != path else ""
    return f"sheet {name}{of_file}" if name else one.path.name
