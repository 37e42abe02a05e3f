"""Proposes how one sheet becomes records: which records it holds, and where every column of it belongs."""

from dataclasses import replace

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import VALUE_COLUMNS, Source, folded
from pipeline.ingest.matching.columns.assign import assign
from pipeline.ingest.matching.columns.beside import units_beside
from pipeline.ingest.matching.columns.blank_together import fill_together
from pipeline.ingest.matching.columns.calls_of_doors import add_callbacks
from pipeline.ingest.matching.columns.crew_numbers import lists_crews, with_numbers
from pipeline.ingest.matching.columns.customer_lists import LISTS_CUSTOMERS, lists_customers
from pipeline.ingest.matching.columns.evidence import has_inches
from pipeline.ingest.matching.columns.glass_cells import with_glass
from pipeline.ingest.matching.columns.initials import with_initials
from pipeline.ingest.matching.columns.kinds import kinds_left_out
from pipeline.ingest.matching.columns.labels_above import with_labels_above
from pipeline.ingest.matching.columns.layout import Layout, is_as_above
from pipeline.ingest.matching.columns.likely_visit import with_likely_visit
from pipeline.ingest.matching.columns.office_papers import is_other_paper, says_more_than_training
from pipeline.ingest.matching.columns.over_rows import with_lines
from pipeline.ingest.matching.columns.placed import Assignment, Placed, headings_of
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.proposed import BY_SIZE, MAY_BE_POUNDS, Proposed
from pipeline.ingest.matching.columns.sources import fill_crews_of_days, fill_with_days, is_group, source_of
from pipeline.ingest.matching.columns.stand_ins import with_stand_ins
from pipeline.ingest.matching.columns.take_columns import take_columns
from pipeline.ingest.matching.columns.two_part_numbers import numbers_together
from pipeline.ingest.matching.readings.door_sizes import length_along, sizes_of_doors, usual_leaves
from pipeline.ingest.matching.readings.each_column import add_each, apart
from pipeline.ingest.matching.readings.inches_at_end import size_unit
from pipeline.ingest.matching.readings.lists_in_cells import lists_in_cells
from pipeline.ingest.matching.readings.low_ends import low_ends
from pipeline.ingest.matching.readings.outcome_columns import with_outcomes
from pipeline.ingest.matching.readings.pairs import size_in_one
from pipeline.ingest.matching.readings.rather_of_doors import is_list_of_readings, is_rather_of_doors
from pipeline.ingest.matching.readings.read_at_calls import add_read_at_calls
from pipeline.ingest.matching.readings.round_frame import named_by_sides
from pipeline.ingest.matching.readings.several_in_one import several_in_one
from pipeline.ingest.matching.readings.tall import Tall, find_tall, outcomes_of
from pipeline.ingest.matching.readings.training_matrix import steps_across
from pipeline.ingest.matching.readings.wide import named_by_share, propose_each, unit_of
from pipeline.ingest.matching.sheet.body import filled
from pipeline.ingest.matching.sheet.headings import without_number
from pipeline.ingest.matching.words.box_marks import meanings
from pipeline.ingest.matching.words.meaning import SURE, check_meaning, reading_meaning
from pipeline.ingest.matching.words.vocabulary import words_in
from pipeline.ingest.matching.workbooks.joined import looked_into, with_job_numbers, with_looked_up
from pipeline.ingest.matching.workbooks.listings import has_several_rows, is_listed_elsewhere
from pipeline.ingest.records import (
    CALLBACKS,
    CHECKS,
    CREWS,
    INSTALLS,
    INSTRUMENTS,
    READINGS,
    TRAINING,
    Record,
    record_named,
)

_SAID_OF_DOORS = ("width_mm", "height_mm", "leaves", "product", "material", "colour", "glass_mm", "crew")
# From and to in a list of crews under such a title are no days of joining and leaving.
_AWAY = frozenset({"holiday", "holidays", "leave", "absence", "absences", "sick", "sickness", "rota", "shifts", "away"})
# A sheet that says so many things of a door and not all it must is likely meant to say all.
_FACTS_OF_A_DOOR = 3
_LISTED_ELSEWHERE = "its doors are those of another sheet, which says more of them"


def propose(layout: Layout, catalogue: Catalogue) -> Proposal:
    """The best of what the sheet can be: the proposal that places most headings."""
    if told := looked_into(layout):
        return Proposal(layout, missing=[told], is_looked_into=True)
    tries = [_doors(layout, catalogue), *(_plain(layout, one) for one in (CALLBACKS, TRAINING, INSTRUMENTS, CREWS))]
    doors = tries[0]
    tries = [one for one in tries if _says_enough(one) and not (_is_of_calls(one, tries) or _is_of_readings(one))]
    if any(TRAINING.name in one.columns for one in tries):
        tries = [one for one in tries if one.each or says_more_than_training(one.columns)]
    if any(CREWS.name in one.columns for one in tries):
        tries = [one for one in tries if not lists_crews(one)]
    tries = [one for one in tries if one is doors or not is_rather_of_doors(one, doors, catalogue)]
    best = max(tries, key=lambda one: (bool(one.columns), len(one.placed), bool(one.missing)))
    if CALLBACKS.name in best.columns and best is not doors:
        add_read_at_calls(best, catalogue)
    if layout.named in layout.known.restarted and CALLBACKS.name in best.columns:
        _leave_numbers(best)
    return best


def _leave_numbers(proposal: Proposal) -> None:
    """Numbers calls by what they say, where the log's own numbers begin anew in every sheet."""
    columns = proposal.columns[CALLBACKS.name]
    heading = columns[CALLBACKS.key[0]].heading
    if heading is not None:
        proposal.doubts.append((heading, "it begins anew in every sheet, so calls are numbered by what they say"))
        columns[CALLBACKS.key[0]] = Source(from_row=True)


def _plain(layout: Layout, record: Record) -> Proposal:
    """A sheet with one row for every row of one record."""
    proposal = Proposal(layout)
    assigned = with_stand_ins(record, layout, assign(record, layout))
    if record is CREWS:
        assigned = with_numbers(layout, assigned)
    missing = [name for name in record.required if name not in assigned.placed]
    if record is TRAINING and "step" in missing and (steps := steps_across(layout, assigned)):
        proposal.columns[record.name] = {"crew": source_of(proposal, assigned.placed["crew"])}
        proposal.each[record.name] = steps
        return proposal
    if record in (CALLBACKS, INSTRUMENTS) and is_list_of_readings(layout, assigned.placed):
        return proposal
    if record is CALLBACKS and (_is_read_and_seen(layout, assigned) or is_other_paper(layout, assigned.placed)):
        return proposal
    if record is CALLBACKS and lists_customers(assigned.placed):
        proposal.missing.append(LISTS_CUSTOMERS)
        return proposal
    if record is CALLBACKS:
        assigned = with_job_numbers(layout, with_likely_visit(layout, assigned))
        proposal.leave_out = kinds_left_out(layout, {one.heading for one in assigned.placed.values()})
    if missing == [CALLBACKS.key[0]] and _is_log(layout, assigned):
        take_columns(proposal, record, assigned)
        proposal.columns[record.name] = {CALLBACKS.key[0]: Source(from_row=True), **proposal.columns[record.name]}
        return proposal
    if missing:
        if len(assigned.placed) > len(record.required):
            _add_draft(proposal, record, (assigned, missing))
        return proposal
    take_columns(proposal, record, assigned)
    return proposal


def _is_read_and_seen(layout: Layout, assigned: Assignment) -> bool:
    """Whether more headings name what was read or seen at doors than say something of calls."""
    calls = {one.heading for one in assigned.placed.values()}
    texts = [without_number(layout.said(heading)) for heading in layout.evidence if heading not in calls]
    named = [(reading_meaning(text), check_meaning(text)) for text in texts]
    return sum(any(one is not None and one.sure >= SURE for one in both) for both in named) > len(calls)


def _says_enough(one: Proposal) -> bool:
    """Whether a record says more than its name: a list of names is no list of crews, nor is one of who is away."""
    if CREWS.name in one.columns and words_in(one.layout.titles) & _AWAY:
        return False
    return not any(len(one.columns.get(record.name, ())) == 1 for record in (CREWS, INSTRUMENTS))


def _is_of_calls(one: Proposal, tries: list[Proposal]) -> bool:
    """Whether what reads as a list of doors is a log of callbacks, which have numbers of their own beside doors'."""
    doors = one.columns.get(INSTALLS.name)
    others = (other.columns for other in tries if other is not one)
    calls = next((columns[CALLBACKS.name] for columns in others if CALLBACKS.name in columns), {})
    of_whom = [calls[name].heading for name in ("install_id", "job_no") if name in calls]
    if doors is None or not calls or any(name in doors for name in _SAID_OF_DOORS if name != "crew"):
        return False
    if CALLBACKS.name in one.columns:
        # its rows say when and why somebody came back, and of the doors nothing but whose they are
        return True
    is_numbered = calls[CALLBACKS.key[0]].heading is not None
    # the day that would be that of fitting is the day of the call or of the visit
    is_same_day = doors["fitted_on"].heading in [
        source.heading for name, source in calls.items() if name.endswith("_on")
    ]
    return is_numbered and bool(of_whom) and (is_same_day or doors[INSTALLS.key[0]].heading not in of_whom)


def _is_of_readings(one: Proposal) -> bool:
    """Whether what reads as training is a list of what was read: beside each point of it stands a number."""
    step = one.columns.get(TRAINING.name, {}).get("step")
    if step is None or step.heading is None:
        return False
    found = assign(READINGS, one.layout).placed
    is_point = "measure" in found and found["measure"].heading == folded(step.heading)
    return is_point and "value" in found and found["value"].heading not in one.placed


def _is_log(layout: Layout, assigned: Assignment) -> bool:
    """Whether rows without a number of their own are callbacks: what was said stands there, of whom, and no sizes."""
    placed = assigned.placed
    facts = assign(INSTALLS, layout).placed
    is_of_doors = sum(name in facts for name in _SAID_OF_DOORS) >= _FACTS_OF_A_DOOR
    # a column of remarks that nobody wrote says nothing
    says_what = any(name in placed and layout.evidence[placed[name].heading].filled for name in ("note", "fault"))
    says_whose = any(name in placed for name in ("install_id", "job_no", "customer", "address", "postcode"))
    return says_what and says_whose and not is_of_doors


def _doors(layout: Layout, catalogue: Catalogue) -> Proposal:
    """A sheet of doors: their facts, a column for every reading or tick, or a row for each."""
    layout = with_glass(with_initials(layout))
    proposal = Proposal(layout)
    leaves = usual_leaves(layout)
    entries, facts = _read_and_said(layout, catalogue, leaves)
    named = frozenset(folded(str(one.each.heading)) for one in entries)
    facts = with_looked_up(layout, with_labels_above(layout, with_lines(layout, facts)))
    facts = with_stand_ins(INSTALLS, layout, facts, named)
    if "install_id" not in facts.placed:
        _add_draft(proposal, INSTALLS, (facts, [name for name in INSTALLS.required if name not in facts.placed]))
        return proposal
    _add_facts(proposal, facts, (catalogue, leaves))
    has_size = bool({"width_mm", "height_mm"} & facts.placed.keys())
    together = {} if has_size else size_in_one(layout, catalogue, leaves, named)
    _add_sizes(proposal, together)
    for along in ("width", "height"):
        if length := together.get(f"{along}_mm") or length_along(layout, facts, along, (catalogue, leaves)):
            proposal.lengths[along] = length
    taken = _headings(facts) if "installs" in proposal.columns else frozenset({facts.placed["install_id"].heading})
    if (tall := find_tall(layout, catalogue, taken, _doors_of_rows(layout, facts.placed["install_id"]))) is not None:
        _add_tall(proposal, tall, facts, catalogue)
        _fill_lengths(proposal)
        _name_stations(proposal)
        return proposal
    for record in (READINGS, CHECKS):
        of_record = [one for one in entries if one.record == record.name]
        if any(one.sure >= SURE for one in of_record):
            add_each(proposal, record, (of_record, facts), catalogue)
    _fill_lengths(proposal)
    _name_stations(proposal)
    add_callbacks(proposal)
    _add_doubts(proposal, [one for one in entries if one.sure < SURE])
    return proposal


def _read_and_said(layout: Layout, catalogue: Catalogue, leaves: float | None) -> tuple[list[Proposed], Assignment]:
    """What was read or seen under the headings of a sheet, and what else they say of the doors."""
    each = with_outcomes(propose_each(layout, catalogue, leaves), layout)
    for heading in sizes_of_doors(layout, each):
        del each[heading]
    several = [*several_in_one(layout, catalogue, leaves), *lists_in_cells(layout, catalogue, leaves)]
    several += low_ends(layout, catalogue, leaves)
    in_one = {folded(str(one.each.heading)) for one in several}
    sure = {heading for heading, one in each.items() if one.sure >= SURE} | in_one
    facts = assign(INSTALLS, layout, frozenset(sure))
    # a heading that is a fact of the door word for word is no doubtful reading
    kept = {heading: one for heading, one in each.items() if one.sure >= SURE or not _is_placed(facts, heading)}
    alone = [one for heading, one in kept.items() if heading not in in_one]
    return apart(named_by_sides([*alone, *several])), facts


def _doors_of_rows(layout: Layout, door: Placed) -> list[str]:
    """The number of the door of each row; nothing where all are one door's."""
    if door.is_line:
        return layout.cells.over(folded(door.heading) or None, INSTALLS.column("install_id"))
    if not door.is_column:
        return [""] * layout.cells.height
    if door.after:
        return numbers_together(layout, door.after, door.heading)
    return filled(layout.cells.texts(door.heading))


def _headings(facts: Assignment) -> frozenset[str]:
    """Headings that are facts of the door; which leaf a reading is of may look like how many leaves there are."""
    return frozenset(one.heading for one in facts.placed.values() if one.column != "leaves")


def _add_tall(proposal: Proposal, tall: Tall, facts: Assignment, catalogue: Catalogue) -> None:
    """Readings and checks of a sheet with a row for each, named in a column of items."""
    written = proposal.layout.written
    for record, entries in tall.each.items():
        value = VALUE_COLUMNS[record]
        columns = {"install_id": source_of(proposal, facts.placed["install_id"])}
        for name, placed in tall.columns.items():
            if any(column.name == name for column in record_named(record).columns):
                columns[name] = source_of(proposal, placed)
                if name == "member":
                    _take_back(proposal, "leaves", placed.heading)
                    columns[name] = replace(columns[name], prefix="leaf_")
        marks = tuple((written(name), word) for name, word in tall.marks)
        boxes = [outcomes_of(proposal.layout, tall)] if record == CHECKS.name and not marks else []
        meant = meanings(boxes, catalogue, proposal.layout.notes, written(tall.value) if tall.value else "")
        words = meant[0] if meant else ()
        columns[value] = Source(marks=marks) if marks else Source(heading=written(tall.value), words=words)
        proposal.columns[record] = columns
        proposal.each[record] = [one for one in entries if one.sure >= SURE]
        proposal.items[record] = tuple(map(written, tall.items))
    proposal.fill_down += [one for one in map(written, tall.filled) if one not in proposal.fill_down]
    proposal.doubts += [(written(tall.items[0]), f"'{item}': {why}") for item, why in tall.doubts]
    proposal.why.setdefault(tall.value, "what was read or seen")


def _take_back(proposal: Proposal, column: str, heading: str) -> None:
    """Takes a column of the doors away again where its heading says something else."""
    installs = proposal.columns.get("installs", {})
    if column in installs and folded(str(installs[column].heading)) == heading:
        del installs[column]


def _fill_lengths(proposal: Proposal) -> None:
    """Width and height go down with the door, where readings are taken at a share of them."""
    used = {one.along for entries in proposal.each.values() for one in entries if one.along}
    for along in used & set(proposal.lengths):
        heading = str(proposal.lengths[along].heading)
        if is_group("install_id", proposal) and is_as_above(proposal.layout, folded(heading)):
            proposal.fill_down.append(heading)


def _name_stations(proposal: Proposal) -> None:
    """Readings at a share of a length that the sheet does not say are named by it: left, 25%, right."""
    for record, entries in proposal.each.items():
        proposal.each[record] = [one if one.along in proposal.lengths else named_by_share(one) for one in entries]


def _is_placed(facts: Assignment, heading: str) -> bool:
    return any(one.heading == heading and one.sure >= 0.9 for one in facts.placed.values())


def _add_facts(proposal: Proposal, facts: Assignment, given: tuple[Catalogue, float | None]) -> None:
    """The doors themselves, where the sheet says all that a door must have and no other lists them with more."""
    if is_listed_elsewhere(proposal.layout, facts):
        proposal.missing += [] if has_several_rows(proposal.layout, facts) else [_LISTED_ELSEWHERE]
        return
    missing = [name for name in INSTALLS.required if name not in facts.placed]
    if missing == ["crew"]:
        proposal.crewless = headings_of(facts.placed)
    if not missing:
        take_columns(proposal, INSTALLS, facts)
        fill_crews_of_days(proposal)
        fill_with_days(proposal)
        fill_together(proposal)
        for name in ("width_mm", "height_mm", "glass_mm", "leaf_weight_kg"):
            _with_unit(proposal, name, given)
    elif len(missing) < len(INSTALLS.required) - 1 and len(facts.placed) >= _FACTS_OF_A_DOOR:
        _add_draft(proposal, INSTALLS, (facts, missing))


def _add_sizes(proposal: Proposal, together: dict[str, Source]) -> None:
    """Width and height that stand in one cell, for the doors that the sheet lists."""
    for name, source in together.items():
        if INSTALLS.name in proposal.columns:
            proposal.columns[INSTALLS.name][name] = source
        proposal.why[folded(str(source.heading))] = "width and height in one cell"


def _with_unit(proposal: Proposal, name: str, given: tuple[Catalogue, float | None]) -> None:
    """The unit that a size is in; a size whose unit is in doubt is left out."""
    source = proposal.columns["installs"].get(name)
    if source is None or source.heading is None:
        return
    layout = proposal.layout
    if beside := units_beside(layout).get(folded(source.heading)):
        written = layout.written(beside)
        proposal.columns["installs"][name] = Source(heading=source.heading, unit_heading=written)
        return
    evidence = layout.evidence[source.heading.casefold()]
    unit, how, doubt = unit_of(name, size_unit(name, source.heading, evidence, given[1]), evidence, *given)
    if how.endswith(BY_SIZE) and name == "leaf_weight_kg" and has_inches(layout.evidence):
        # who writes sizes in inches may write masses in pounds
        doubt = MAY_BE_POUNDS
    if doubt:
        del proposal.columns["installs"][name]
        proposal.doubts.append((source.heading, f"{name}: {doubt}"))
        return
    proposal.why[source.heading.casefold()] += f", {how}" if how else ""
    own = "kg" if name.endswith("_kg") else "mm"
    if unit != own:
        proposal.columns["installs"][name] = Source(heading=source.heading, unit=unit)


def _add_doubts(proposal: Proposal, entries: list[Proposed]) -> None:
    for one in entries:
        if str(one.each.heading).casefold() not in proposal.placed:
            proposal.doubts.append(
                (str(one.each.heading), f"{dict(one.each.fixed).get('measure', 'check')}: {one.doubt}")
            )
            proposal.unsure.append(one)


def _add_draft(proposal: Proposal, record: Record, given: tuple[Assignment, list[str]]) -> None:
    """Says what a record lacks, and keeps what was found of it for a person to complete."""
    assigned, missing = given
    proposal.missing.append(_lacks(record, missing))
    proposal.draft, proposal.wanting = Proposal(proposal.layout), tuple(missing)
    take_columns(proposal.draft, record, assigned)


def _lacks(record: Record, missing: list[str]) -> str:
    hint = '; if every sheet is a crew\'s, write crew = { from = "sheet" }' if missing == ["crew"] else ""
    return f"{record.name} cannot be made: no column is {' or '.join(missing)}{hint}"
