"""Readings in a log of callbacks: what whoever came measured of a door, in rows that say which door, leaf and day.

They are taken with the day of the visit only, so that none counts as one of the fitting. How such logs look is common
practice, no source.
"""

from dataclasses import replace

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.assign import assign
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.placed import Placed
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.columns.sources import source_of
from pipeline.ingest.matching.readings.each_column import apart
from pipeline.ingest.matching.readings.wide import is_of_a_leaf, needs_member, propose_each
from pipeline.ingest.matching.words.contents import is_leaf
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.matching.words.places import MOST_LEAVES
from pipeline.ingest.matching.words.vocabulary import words_of
from pipeline.ingest.records import CALLBACKS, READINGS

_DOOR, _VISIT, _LEAF = "install_id", "visited_on", "leaf"


def add_read_at_calls(proposal: Proposal, catalogue: Catalogue) -> None:
    """Adds to a log of callbacks what was read at the visits, where each row says its door and the day of the visit."""
    layout, calls = proposal.layout, proposal.columns[CALLBACKS.name]
    door, visit = calls.get(_DOOR), calls.get(_VISIT)
    if door is None or visit is None or not (door.heading and visit.heading):
        return
    visits = layout.cells.texts(folded(visit.heading))
    entries = [one for one in _readings(proposal, catalogue) if _is_dated(layout, one, visits)]
    leaf = _leaf_of_rows(layout, proposal)
    kept = [one for one in entries if not needs_member(one) and (leaf is not None or not is_of_a_leaf(one))]
    if not kept:
        return
    proposal.columns[READINGS.name] = {_DOOR: door, "read_on": visit}
    if leaf is not None:
        source = replace(source_of(proposal, leaf), prefix="leaf_")
        proposal.columns[READINGS.name]["member"] = source
        proposal.leaf_headings.add(leaf.heading)
        kept = [one if is_of_a_leaf(one) else _of_no_leaf(one) for one in kept]
    proposal.each[READINGS.name] = kept
    proposal.why |= {folded(str(one.each.heading)): f"{one.why}; read at the visit" for one in kept}


def _readings(proposal: Proposal, catalogue: Catalogue) -> list[Proposed]:
    """The headings that surely name a reading of a door and that say nothing of the callback."""
    found = propose_each(proposal.layout, catalogue, None)
    free = [one for heading, one in found.items() if one.record == READINGS.name and heading not in proposal.placed]
    # at a share of a width that the log does not say, nobody can tell where it was
    return [one for one in apart(free) if one.sure >= SURE and one.each.share is None]


def _is_dated(layout: Layout, one: Proposed, visits: list[str]) -> bool:
    """Whether the day of the visit stands in every row where something was read."""
    read = layout.cells.texts(folded(str(one.each.heading)))
    return any(read) and all(day for text, day in zip(read, visits, strict=True) if text)


def _leaf_of_rows(layout: Layout, proposal: Proposal) -> Placed | None:
    """The column that says of which leaf a row is: its heading says so, and a number or a leaf stands in its cells."""
    leaf = assign(READINGS, layout, frozenset(proposal.placed)).placed.get("member")
    if leaf is None or _LEAF not in words_of(layout.lowest(leaf.heading)):
        return None
    evidence = layout.evidence[leaf.heading]
    are_numbers = len(evidence.values) == evidence.filled and set(evidence.values) <= set(range(1, MOST_LEAVES + 1))
    return leaf if are_numbers or (evidence.filled and all(map(is_leaf, evidence.texts))) else None


def _of_no_leaf(one: Proposed) -> Proposed:
    """The entry of what is of the door, in rows that say a leaf."""
    fixed = dict(one.each.fixed)
    return replace(one, each=replace(one.each, fixed=tuple((fixed | {"member": fixed.get("member", "")}).items())))
