"""Sheets with a row for every leaf of a door: which column numbers the leaves."""

from itertools import pairwise

from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.columns.borne_out import counts_leaves
from pipeline.ingest.matching.columns.evidence import LEAF_STEPS
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.placed import Placed
from pipeline.ingest.matching.words.contents import is_leaf
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.matching.words.places import MOST_LEAVES
from pipeline.ingest.records import READINGS


def is_leaf_row(layout: Layout, placed: Placed) -> bool:
    """Whether rows are leaves: small numbers that count up, or texts that name one."""
    evidence = layout.evidence[placed.heading]
    counts_up = evidence.steps >= LEAF_STEPS and max(evidence.values, default=0) <= MOST_LEAVES
    names = all(is_leaf(text) or typed_number(text).isdecimal() for text in evidence.texts)
    return evidence.distinct <= MOST_LEAVES and (counts_up or (names and not evidence.values))


def leaf_counter(layout: Layout, door: Placed, taken: frozenset[str]) -> Placed | None:
    """A column not taken that counts from 1 for every door anew, whatever its name: it numbers the door's leaves."""
    if door.heading not in layout.evidence:
        return None
    doors = layout.cells.texts(door.heading)
    for heading, evidence in layout.evidence.items():
        is_free = heading not in taken and heading != door.heading
        if is_free and counts_leaves(evidence) and _begins_with(doors, layout.cells.texts(heading)):
            return Placed(heading, READINGS.name, "member", SURE, "counts from 1 for every door: its leaves")
    return None


def _begins_with(doors: list[str], counts: list[str]) -> bool:
    """Whether the count is 1 where another door begins, and nowhere else."""
    begins = [bool(door) and door != before for before, door in pairwise(["", *doors])]
    return [typed_number(text) == "1" for text in counts] == begins
