"""Puts the columns of one record into a proposal: where each comes from, what several headings say, what is faint."""

from dataclasses import replace

from pipeline.ingest.declared.mapping import Source, folded
from pipeline.ingest.matching.columns.beside import BETWEEN, parts_beside
from pipeline.ingest.matching.columns.cost_parts import COST, cost_in_parts, says_money
from pipeline.ingest.matching.columns.durations import HOURS, unit_of_duration
from pipeline.ingest.matching.columns.layout import Layout, is_open_beside
from pipeline.ingest.matching.columns.name_and_address import with_name_and_address
from pipeline.ingest.matching.columns.placed import Assignment, Placed, headings_of
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.sources import PEOPLE, source_of
from pipeline.ingest.matching.words.customers_money import DOUBT, is_customers_money
from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.records import CALLBACKS, INSTRUMENTS, Record


def take_columns(proposal: Proposal, record: Record, assigned: Assignment) -> None:
    """Puts the columns of a record that were placed into a proposal, with what it takes several headings to say."""
    columns = proposal.columns.setdefault(record.name, {})
    unknown = _unknown_doors(proposal.layout, assigned) if record is CALLBACKS else set()
    for column in record.columns:
        placed = assigned.placed.get(column.name)
        if placed is not None:
            columns[column.name] = source_of(proposal, placed, may_fill=column.name not in unknown)
        if column.name in BETWEEN:
            _add_parts(proposal, columns, column.name)
    _part_name_and_address(proposal, columns)
    if record is CALLBACKS:
        _add_cost_in_parts(proposal, columns)
    if record is INSTRUMENTS:
        _add_unit_of_error(columns)
    if HOURS in columns:
        _settle_hours(proposal, columns)
    proposal.doubts += _faint(proposal, assigned)


def _part_name_and_address(proposal: Proposal, columns: dict[str, Source]) -> None:
    """The customer and the address apart, where one column holds both."""
    for name, source in with_name_and_address(proposal.layout, columns).items():
        columns[name] = source
        proposal.why[folded(str(source.heading))] = "name and address in one cell"


def _add_cost_in_parts(proposal: Proposal, columns: dict[str, Source]) -> None:
    """The cost as the sum of labour and parts, where nothing says it whole."""
    had, hours = columns.get(COST), columns.get(HOURS)
    if hours is not None and hours.heading and says_money(proposal.layout, folded(hours.heading)):
        # labour in amounts of money is no time
        del columns[HOURS]
    others = {folded(text) for name, source in columns.items() if name != COST for text in source.headings}
    source = cost_in_parts(proposal.layout, folded(had.heading) if had and had.heading else None, others)
    if source is not None:
        columns[COST] = source
        proposal.why[folded(str(source.heading))] = "the sum of these amounts, as no total stands beside them"


def _add_unit_of_error(columns: dict[str, Source]) -> None:
    """The unit of an instrument's error, where its heading says it and no column does: Max error (mm)."""
    error = columns.get("max_error")
    if error is not None and error.heading and "unit" not in columns and (unit := split_unit(error.heading)[1]):
        columns["unit"] = Source(always=unit)


def _settle_hours(proposal: Proposal, columns: dict[str, Source]) -> None:
    """The unit of a duration; one that is likelier in minutes, and does not say so, is left to a person."""
    written = str(columns[HOURS].heading)
    unit, doubt = unit_of_duration(written, proposal.layout.evidence.get(folded(written)))
    if doubt:
        del columns[HOURS]
        proposal.doubts.append((written, doubt))
    elif unit:
        columns[HOURS] = replace(columns[HOURS], unit=unit)


def _unknown_doors(layout: Layout, assigned: Assignment) -> set[str]:
    """Columns of a callback log in which a blank beside a customer is a door that nobody knew, not the one above."""
    found = headings_of(assigned.placed)
    people = [found[name] for name in PEOPLE if name in found]
    return {name for name in ("install_id", "job_no") if name in found and is_open_beside(layout, found[name], people)}


def _add_parts(proposal: Proposal, columns: dict[str, Source], name: str) -> None:
    """A name or an address that is written in several columns."""
    had = columns.get(name)
    parts = parts_beside(proposal.layout, name, folded(had.heading) if had and had.heading else None)
    if not parts or (had and not had.heading):
        return
    first, *further = map(proposal.layout.written, parts)
    columns[name] = Source(heading=first, joined=tuple(further), between=BETWEEN[name])
    proposal.why[folded(first)] = f"{name} in {len(parts)} parts"


def _faint(proposal: Proposal, assigned: Assignment) -> list[tuple[str, str]]:
    """For each heading without a place, what it may be."""
    likely: dict[str, list[Placed]] = {}
    for one in assigned.faint:
        if one.column not in assigned.placed:
            likely.setdefault(one.heading, []).append(one)
    return [
        (proposal.layout.written(heading), _may_be(heading, ones))
        for heading, ones in likely.items()
        if heading not in proposal.placed
    ]


def _may_be(heading: str, ones: list[Placed]) -> str:
    if ones[0].column == COST and is_customers_money(heading):
        return DOUBT
    return "it may be " + " or ".join(one.column for one in ones[:2])
