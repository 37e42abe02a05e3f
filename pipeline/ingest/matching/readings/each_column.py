"""Puts columns of readings and of checks into a proposal, with what their rows share: door, day, who, which leaf."""

from dataclasses import replace

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import Source, folded
from pipeline.ingest.matching.columns.assign import assign
from pipeline.ingest.matching.columns.days_by_title import day_by_title
from pipeline.ingest.matching.columns.initials import words_of_initials
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.placed import Assignment, Placed
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.columns.sources import source_of
from pipeline.ingest.matching.readings.leaf_rows import is_leaf_row, leaf_counter
from pipeline.ingest.matching.readings.wide import is_of_a_leaf, needs_leaf, needs_member, of_leaf_row, of_member_row
from pipeline.ingest.matching.sheet.body import filled
from pipeline.ingest.matching.words.box_marks import meanings
from pipeline.ingest.matching.words.contents import are_members
from pipeline.ingest.matching.words.meaning import SURE, column_likeness
from pipeline.ingest.records import CHECKS, READINGS, SEVERAL_PLACES, Record

_NO_MEMBER = "it does not say along which member"
_NO_LEAF = "it does not say of which leaf, and gaps round the frame stand beside it"
_WHICH_LEAF = "its rows are several of one door, and nothing says of which leaf"
_ROWS_OF_A_DOOR = 2
_SHARED = {"readings": ("read_on", "read_by", "instrument"), "checks": ("checked_on",)}


def add_each(
    proposal: Proposal, record: Record, given: tuple[list[Proposed], Assignment], catalogue: Catalogue
) -> None:
    """The readings or checks, with what their rows share: the door, the day, who and with what; which leaf."""
    entries, facts = given
    columns = {"install_id": source_of(proposal, facts.placed["install_id"])}
    layout = proposal.layout
    taken = frozenset(proposal.placed | {one.each.heading.casefold() for one in entries if one.each.heading})
    # which leaf a row is says so of readings and checks alike
    but_leaves = taken - proposal.leaf_headings
    shared = assign(record, layout, but_leaves).placed
    day = _SHARED[record.name][0]
    shared |= {} if day in shared else day_by_title(layout, record, day, taken)
    if day not in shared and (source := _day_of_readings(proposal, record)) is not None:
        columns[day] = source
    for name in _SHARED[record.name]:
        if name in shared and shared[name].heading not in taken:
            columns[name] = source_of(proposal, shared[name])
    leaf = shared.get("member") or leaf_counter(layout, facts.placed["install_id"], but_leaves)
    are_leaves = leaf is not None and is_leaf_row(layout, leaf)
    proposal.columns[record.name] = columns
    proposal.each[record.name] = [one for one in entries if one.sure >= SURE]
    if leaf is not None and (are_leaves or are_members(layout.evidence[leaf.heading].texts)):
        columns["member"] = replace(source_of(proposal, leaf), prefix="leaf_" if are_leaves else "")
        proposal.leaf_headings.add(leaf.heading)
        of_row = of_leaf_row if are_leaves else of_member_row
        proposal.each[record.name] = list(map(of_row, proposal.each[record.name]))
    else:
        _leave_memberless(proposal, record, facts.placed["install_id"])
    end = shared.get("station")
    if record is READINGS and end is not None and end.heading not in taken:
        _add_end(proposal, end, [one for one in (facts.placed["install_id"], leaf) if one])
    if not proposal.each[record.name]:
        del proposal.columns[record.name], proposal.each[record.name]
        return
    for one in proposal.each[record.name]:
        proposal.why[str(one.each.heading).casefold()] = one.why
    if record is CHECKS:
        _add_words(proposal, catalogue)


def _day_of_readings(proposal: Proposal, record: Record) -> Source | None:
    """The day of the readings of the same rows, where its heading does not say that it is of these alone."""
    source = proposal.columns.get(READINGS.name, {}).get("read_on")
    if record is not CHECKS or source is None or source.heading is None:
        return None
    heading = proposal.layout.said(folded(source.heading))
    is_of_both = column_likeness(CHECKS.name, "checked_on", heading) >= SURE
    return source if is_of_both or day_by_title(proposal.layout, record, "checked_on", frozenset()) else None


def _add_end(proposal: Proposal, end: Placed, of: list[Placed]) -> None:
    """The column of ends, such as hinge and lock, where no heading says one and rows of a door or leaf differ by it."""
    layout = proposal.layout
    keys = [one.heading for one in of if one.heading in layout.evidence]
    if any(map(_says_station, proposal.each[READINGS.name])) or not _tells_rows_apart(layout, keys, end.heading):
        return
    proposal.columns[READINGS.name]["station"] = source_of(proposal, end)
    # rows are told apart by their ends, so a blank door or leaf is the one above
    blank = [layout.written(heading) for heading in keys if "" in layout.cells.texts(heading)]
    proposal.fill_down += [heading for heading in blank if heading not in proposal.fill_down]


def _leave_memberless(proposal: Proposal, record: Record, door: Placed) -> None:
    """Fixings and packers of which no one says along which member they stand are in doubt, and gaps of no leaf.

    So is whatever each leaf has where a door fills several rows, as its leaves may.
    """
    entries = proposal.each[record.name]
    of_frame = any(dict(one.each.fixed).get("measure") == "perimeter_gap" for one in entries)
    fills_rows = _fills_several_rows(proposal, door)
    for one in entries[:]:
        doubt = _NO_MEMBER if needs_member(one) else _NO_LEAF if of_frame and needs_leaf(one) else ""
        doubt = doubt or (_WHICH_LEAF if fills_rows and is_of_a_leaf(one) else "")
        if doubt:
            entries.remove(one)
            proposal.unsure.append(replace(one, sure=0.0, doubt=doubt))
            proposal.doubts.append((str(one.each.heading), doubt))


def _says_station(one: Proposed) -> bool:
    return "station" in dict(one.each.fixed) or one.each.share is not None


def _tells_rows_apart(layout: Layout, keys: list[str], end: str) -> bool:
    """Whether rows of one door, or leaf, are several, and a column of ends is what differs: hinge, lock."""
    texts = [filled(layout.cells.texts(heading)) for heading in keys]
    ends = layout.cells.texts(end)
    rows = list(zip(*texts, strict=True))
    return len(set(rows)) < len(rows) == len(set(zip(rows, ends, strict=True))) and all(ends)


def _fills_several_rows(proposal: Proposal, door: Placed) -> bool:
    """Whether most doors fill several rows of the sheet."""
    evidence = proposal.layout.evidence.get(door.heading)
    return evidence is not None and evidence.filled >= _ROWS_OF_A_DOOR * evidence.distinct > _ROWS_OF_A_DOOR


def _add_words(proposal: Proposal, catalogue: Catalogue) -> None:
    """What marks and initials in the boxes of checks mean."""
    layout = proposal.layout
    words, why = meanings(_boxes(proposal), catalogue, layout.notes) or ((), "")
    headings = [folded(str(one.each.heading)) for one in proposal.each[CHECKS.name]]
    signed = tuple(one for one in words_of_initials(layout, headings) if one[0] not in dict(words))
    if signed:
        why = "; ".join(filter(None, [why, "whoever has done it signs for it"]))
    if words or signed:
        proposal.words[CHECKS.name] = (*words, *signed), why


def _boxes(proposal: Proposal) -> list[list[str]]:
    """The cells of every column of checks."""
    entries = proposal.each[CHECKS.name]
    return [proposal.layout.cells.texts(folded(str(one.each.heading))) for one in entries]


def apart(entries: list[Proposed]) -> list[Proposed]:
    """The entries; those that say one and the same place of a door, with other values, are not sure."""
    places: dict[object, list[Proposed]] = {}
    for one in entries:
        if one.sure >= SURE and dict(one.each.fixed).get("measure") not in SEVERAL_PLACES:
            places.setdefault(
                (one.record, one.each.share, one.each.position_heading, frozenset(one.each.fixed)), []
            ).append(one)
    alike = {one.each.heading for ones in places.values() if len(ones) > 1 for one in ones}
    doubt = "it says the same place as another column; tell them apart by member or station"
    return [replace(one, sure=0.0, doubt=doubt) if one.each.heading in alike else one for one in entries]
