"""A matrix of training: a row for every crew, a column for every step, the day of the session where they meet."""

from pipeline.ingest.declared.mapping import Each
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.placed import Assignment
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.words.vocabulary import meant_by, trade_words
from pipeline.ingest.records import TRAINING

# A single step may head a column of days of a list.
_FEWEST = 2


def steps_across(layout: Layout, assigned: Assignment) -> list[Proposed]:
    """An entry for every column of days that a step heads, where the crews are named; none where they are few."""
    found = []
    for heading, evidence in layout.evidence.items():
        step = meant_by(layout.lowest(heading), trade_words("step"))
        if step and (evidence.are_days or not evidence.filled):
            each = Each(layout.written(heading), None, (("step", step),))
            found.append(Proposed(TRAINING.name, each, "", f"names {step}; {evidence.told}", 1.0))
    steps = [dict(one.each.fixed)["step"] for one in found]
    is_matrix = "crew" in assigned.placed and len(steps) == len(set(steps)) >= _FEWEST
    return found if is_matrix else []
