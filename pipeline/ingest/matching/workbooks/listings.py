"""Sheets that list the same doors: the one that says most of them is their list; what the others say is no second one.

A protocol of readings with a fitter and a day, a rota or a schedule names doors that another sheet lists in full. Made
doors again they would contradict that list, and neither could be taken in. How offices keep their books is common
practice, no source.
"""

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.columns.known import Listing
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.placed import Assignment
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.records import INSTALLS

# From so many rows of a door on, in the mean, a sheet is no list of doors in which one slipped in twice.
_ROWS_OF_A_DOOR = 1.5


def listings_of(proposal: Proposal, layouts: list[Layout]) -> list[Listing]:
    """The list of doors that sheets of one layout hold; nothing where they hold none."""
    columns = proposal.columns.get(INSTALLS.name, {})
    number = columns.get(INSTALLS.key[0])
    if number is None or number.heading is None or number.joined:
        return []
    sheets = [proposal.layout] if proposal.is_form else layouts
    doors = {door for one in sheets for door in _doors(one, folded(number.heading))}
    return [Listing(proposal.layout.named, frozenset(doors), frozenset(columns))]


def is_listed_elsewhere(layout: Layout, facts: Assignment) -> bool:
    """Whether another sheet lists the doors of this one, and says more of them."""
    door = facts.placed.get(INSTALLS.key[0])
    if door is None or not door.is_column or door.after or not layout.known.lists:
        return False
    return layout.known.outdo(Listing(layout.named, frozenset(_doors(layout, door.heading)), frozenset(facts.placed)))


def has_several_rows(layout: Layout, facts: Assignment) -> bool:
    """Whether doors come again in other rows, which then are no list of them."""
    one = layout.evidence.get(facts.placed[INSTALLS.key[0]].heading)
    return one is not None and one.filled >= _ROWS_OF_A_DOOR * one.distinct


def _doors(layout: Layout, heading: str) -> set[str]:
    texts = layout.cells.texts(heading) if heading in layout.evidence else []
    return {typed_number(text).casefold() for text in texts if text}
