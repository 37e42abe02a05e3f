"""Where practice would spare most callbacks, in that order; for the trainer."""

from pipeline.report.rows.table_rows import CrewOut, WeakStep
from pipeline.report.sheet import Block, Item, Listing, Passage
from pipeline.report.words import practice as words
from pipeline.report.words import steps

MOST = 10


def practice_list(weak_steps: list[WeakStep], outs: list[CrewOut]) -> list[Block]:
    """The list, or the sentence that nothing is shown; nothing where no step is recorded."""
    if not weak_steps:
        return []
    worth = words.by_gain(weak_steps)
    if not worth:
        return [Passage("practice", words.says(weak_steps), (words.NOTHING,))]
    items = tuple(
        Item(f"{words.line(weak)} {steps.foremost(weak, outs)}".strip(), words.lead(weak)) for weak in worth[:MOST]
    )
    return [Listing("practice", words.says(weak_steps), items, words.HOW)]
