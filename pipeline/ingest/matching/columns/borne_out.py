"""How far what stands in a column bears out that it is a column of a record."""

import re

from pipeline.ingest.matching.columns.durations import HOURS, are_durations
from pipeline.ingest.matching.columns.evidence import LEAF_STEPS, Evidence, is_tick
from pipeline.ingest.matching.sheet.low_ends import low_end
from pipeline.ingest.matching.words.contents import are_members, counts_leaves_in_words, is_by_contents, say_words
from pipeline.ingest.matching.words.heading_units import unit_named
from pipeline.ingest.matching.words.places import MOST_LEAVES
from pipeline.ingest.records import CALLBACKS, DAY, INSTALLS, NUMBER, NUMBERS_OF, WHOLE, WORD, WORDS, Column, Record
from pipeline.ingest.texts.not_said import NOTHING
from pipeline.ingest.texts.numbers import says_within

# From this share of cells on, a column is of one kind.
MOSTLY = 0.5
# What was read or seen may have a name of many words.
_NAMED_AT_LENGTH = frozenset({"measure", "check"})
# What a caller may be to a house.
_ROLES = frozenset({
    "customer", "client", "owner", "home owner", "homeowner", "householder", "house owner", "occupier", "occupant",
    "resident", "tenant", "landlord", "landlady", "agent", "letting agent", "lettings agent", "estate agent",
    "managing agent", "site manager", "site agent", "site", "builder", "main contractor", "contractor", "developer",
    "architect", "caretaker", "housekeeper", "neighbour", "neighbor", "husband", "wife", "partner", "son", "daughter",
    "relative", "family", "office", "sales", "sales office", "showroom", "dealer", "trade", "facilities manager",
    "property manager", "warden", "concierge", "housing association", "housing officer", "council", "crew", "fitter",
})  # fmt: skip
# What things are made of is said in words, of which the shortest are such as PVC.
_OF_WORDS, _WORD = frozenset({"substrate", "material"}), re.compile(r"[^\W\d_]{3}|^[^\W\d_]{2}$")
# So many numbers that mostly count up by one are no days.
_COUNTED_UP, _DAYS_OF_A_WEEK = 0.9, 7
# What somebody said is no number, whatever its heading: Complaint over K410, K411.
_SAID, _IS_CODE = ("note",), re.compile(r"[a-z]{0,5}[-/. #]?\d{1,8}(?:\.0)?", re.ASCII)


def bears_out(record: Record, column: Column, evidence: Evidence) -> float:
    """How far the contents bear a column out: 0 rules it out."""
    if not evidence.filled:
        return 0.8
    if column.kind == DAY:
        return _day(evidence)
    if _is_ruled_out(column, evidence):
        return 0.0
    if column.name == HOURS and are_durations(evidence.texts):
        return 1.0
    if column.name == HOURS and evidence.spelt_hours:
        return 1.0 if evidence.numbers + evidence.spelt_hours >= 0.6 else 0.0
    if column.name == "leaves" and all(map(counts_leaves_in_words, evidence.texts)):
        return 1.0
    if column.kind in (NUMBER, WHOLE):
        return 1.0 if evidence.numbers >= 0.6 and evidence.days < 0.5 else 0.0
    if evidence.are_days:
        return 0.0
    if column.kind == WORD and evidence.numbers >= 0.6:
        return 0.3
    is_closed = column.kind in (WORD, WORDS) and column.name not in _NAMED_AT_LENGTH
    if is_closed and evidence.wordy >= MOSTLY and not say_words(column.name, evidence.texts):
        return 0.4
    if column.name == "note" and evidence.wordy < MOSTLY and evidence.distinct < 0.7 * evidence.filled:
        return 0.7
    if column.name == record.key[0] and len(record.key) == 1 and evidence.distinct == 1 < evidence.filled - 1:
        return 0.5
    if column.name == "station" and are_members(evidence.texts):
        return 0.5
    if column.name == "station" and evidence.numbers >= 0.6:
        return 0.5
    if column.name == "crew" and evidence.distinct > 60 and evidence.distinct > 0.8 * evidence.filled:
        return 0.5
    return 1.0


def _is_ruled_out(column: Column, evidence: Evidence) -> bool:
    """Whether cells are plainly something else: levels that were read, counts of leaves, units."""
    if column.name in ("fault", "responsibility") and not evidence.texts <= NOTHING:
        # Our fault? yes or no is neither the fault nor whose it is
        return all(map(is_tick, evidence.texts))
    if column.name in _SAID:
        return all(map(_IS_CODE.fullmatch, evidence.texts))
    if column.name == "customer" and evidence.texts:
        # who somebody is to the house is nobody's name
        return evidence.texts <= _ROLES | NOTHING
    if column.name in _OF_WORDS:
        # a number of a fixing, or a mark, is nothing that a wall or a frame is made of: 1st, 2nd under Fixings
        return not any(map(_WORD.search, evidence.texts))
    if column.name == "job_no" and is_by_contents(INSTALLS.name, "material", evidence.texts):
        # what a door is made of is no number of a job: oak, ash under Case
        return True
    if column.name == "read_by":
        # a key to ticks names nobody: Checked over ✓ / ✗
        return not any(char.isalnum() for text in evidence.texts for char in text)
    if column.name == "product" and is_by_contents(INSTALLS.name, "work", evidence.texts):
        # new and replacement are kinds of work, and no doors
        return True
    if column.name == "storey":
        # a level that is fine, or 3 low on the left, is one that was read
        return any(value % 1 for value in evidence.values) or any(
            says_within(text) or low_end(text) for text in evidence.texts
        )
    if column.name == "leaves" and evidence.steps >= LEAF_STEPS and min(evidence.values, default=0) <= 1:
        return True
    if column.name in NUMBERS_OF and (counts_leaves(evidence) or all(map(counts_leaves_in_words, evidence.texts))):
        return True
    # what was said is no number of it, whatever both are called: Call back / Complaint
    if column.name == CALLBACKS.key[0] and evidence.wordy >= MOSTLY:
        return not all(any(map(str.isdecimal, text)) for text in evidence.texts)
    # a unit is one of measure, or that of a building: mm, or B-204; a letter may be short for one: door C of a job
    if column.name == "unit":
        return not any(map(unit_named, evidence.texts))
    is_number = column.name == INSTALLS.key[0]
    return is_number and sum(map(bool, map(unit_named, evidence.texts))) > MOSTLY * len(evidence.texts)


def counts_leaves(evidence: Evidence) -> bool:
    """Whether cells count from 1 to a few again and again: the leaves of door after door."""
    counts = set(evidence.values)
    is_few = len(evidence.values) == evidence.filled > len(counts) > 1 and max(counts) <= MOST_LEAVES
    return is_few and evidence.steps >= LEAF_STEPS and min(counts) == 1


def _day(evidence: Evidence) -> float:
    if evidence.are_days:
        return 1.0
    # a column that several people fill may hold days as texts beside the spreadsheet's own numbers of days
    serials = [value for value in evidence.values if 30_000 <= value <= 60_000]
    if evidence.steps >= _COUNTED_UP and evidence.distinct == evidence.filled >= _DAYS_OF_A_WEEK:
        # numbers of papers count up by one, row by row; nobody works every day of a week and once
        return 0.0
    return 0.9 if len(serials) / max(1, evidence.filled) + evidence.days >= 0.8 else 0.0
