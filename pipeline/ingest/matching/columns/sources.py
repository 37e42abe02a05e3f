"""Where the cells of a column come from: its heading, the firm's words in it, and whether its blanks mean as above."""

import re
from dataclasses import replace

from pipeline.ingest.declared.mapping import LINES, VALUE_COLUMNS, Source, folded
from pipeline.ingest.matching.columns.evidence import look_at
from pipeline.ingest.matching.columns.layout import Layout, is_as_above, is_marked_as_above
from pipeline.ingest.matching.columns.own_words import own_words
from pipeline.ingest.matching.columns.placed import Placed
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.said_as_above import (
    is_blank_beside_blank_days,
    is_named_as_above,
    is_said_as_above,
)
from pipeline.ingest.matching.columns.two_part_numbers import BETWEEN_PARTS
from pipeline.ingest.matching.columns.whose_fault import words_under
from pipeline.ingest.records import CALLBACKS, DAY, INSTALLS, NUMBERS_OF, WORD, WORDS, record_named

# Columns in which a blank may mean "as above": what rows of one group have in common.
_GROUPED = frozenset({
    "install_id", "job_no", "crew", "product", "material", "colour", "fitted_on", "handed_over_on", "read_on",
    "read_by", "instrument", "checked_on", "customer", "address", "postcode", "reported_on", "callback_id",
})  # fmt: skip
_NUMBERS_OF_GROUPS = (*NUMBERS_OF, CALLBACKS.key[0])
# From this share of cells on, a column is one of numbers, of which a line of sums has some.
_NUMBERS = 0.5
# So many blanks in the same rows are no chance.
_FEWEST_BLANKS = 3
_MAY_BE_UNKNOWN = ("job_no", "product", "material", "colour", "handed_over_on", "reported_on")
PEOPLE = ("customer", "address", "postcode")


def source_of(proposal: Proposal, placed: Placed, *, may_fill: bool = True) -> Source:
    """The source of a column that was placed; notes its reason, and whether blanks under it are filled from above."""
    if placed.look_up:
        return Source(look_up=placed.look_up, unit=placed.unit)
    if placed.is_sheet or placed.is_above or placed.said:
        return _of_no_column(proposal, placed)
    named = record_named(placed.record)
    if placed.is_line:
        proposal.why.setdefault(f"{LINES} {folded(placed.heading)}", placed.why)
        label = folded(placed.heading)
        said = look_at(list(proposal.layout.cells.over(label or None, named.column(placed.column))))
        return Source(from_lines=True, after=label, words=own_words(placed.column, said))
    if placed.after:
        return _in_two_parts(proposal, placed)
    written = proposal.layout.written(placed.heading)
    proposal.why.setdefault(written.casefold(), placed.why)
    evidence = proposal.layout.evidence[placed.heading]
    words = words_under(placed.record, placed.column, placed.heading, proposal.layout, evidence)
    # ditto marks are read in any column; numbers with marks alone tell which rows are of one group
    can_fill = may_fill and placed.column in (_GROUPED if evidence.blank else _NUMBERS_OF_GROUPS)
    is_person = placed.column in PEOPLE and not any(is_group(name, proposal) for name in ("install_id", "callback_id"))
    is_key = named.key == (placed.column,) and named is not INSTALLS
    is_day = named.column(placed.column).kind == DAY
    is_said = bool(evidence.blank) and is_said_as_above(proposal.layout, placed.heading)
    # a blank may as well mean that it is not known, or not yet
    is_open = placed.column in _MAY_BE_UNKNOWN and not (
        is_group("install_id", proposal)
        or is_marked_as_above(proposal.layout, placed.heading)
        or is_named_as_above(proposal.layout, placed.heading)
    )
    is_needed = placed.column == "crew"
    is_above = is_as_above(proposal.layout, placed.heading, is_day=is_day, is_needed=is_needed) or (
        is_needed and is_blank_beside_blank_days(proposal.layout, placed.heading)
    )
    is_meant = is_said or (is_above and not is_person and _goes_on(proposal, placed))
    if can_fill and not is_key and not is_open and is_meant:
        proposal.fill_down += [written] if written not in proposal.fill_down else []
    return Source(heading=written, words=words)


def _goes_on(proposal: Proposal, placed: Placed) -> bool:
    """Whether blanks under a fact of the doors stand in rows of doors, not only in such as sum up: carried forward, 6.

    A row of a door that says its number says something of it in words or days as well, or its number has letters as
    those of such rows: P7 as P6.
    """
    layout, doors = proposal.layout, proposal.columns.get(INSTALLS.name, {})
    key = doors[INSTALLS.key[0]].heading if INSTALLS.key[0] in doors else None
    if placed.record != INSTALLS.name or key is None or folded(key) == placed.heading:
        return True
    numbers = layout.cells.texts(folded(key))
    blanks = [not text for text in layout.cells.texts(placed.heading)]
    others = [
        layout.cells.texts(one)
        for one, evidence in layout.evidence.items()
        if one not in (folded(key), placed.heading) and evidence.numbers < _NUMBERS
    ]
    is_said = [any(texts) for texts in zip(*others, strict=True)] if others else [True] * len(blanks)
    of_doors = (number for number, more in zip(numbers, is_said, strict=True) if more and any(map(str.isalpha, number)))
    lettered = set(map(_shape, of_doors))
    rows = zip(blanks, numbers, is_said, strict=True)
    return not any(blanks) or any(
        is_blank and (not number or more or _shape(number) in lettered) for is_blank, number, more in rows
    )


def _shape(number: str) -> str:
    return re.sub(r"\d+", "0", number.casefold())


def _of_no_column(proposal: Proposal, placed: Placed) -> Source:
    """What the name of the sheet or of the file says, or a label above the header."""
    if placed.is_sheet:
        return Source(sheet_name=True)
    proposal.why.setdefault(placed.heading.casefold(), placed.why)
    return Source(always=placed.said) if placed.said else Source(above=placed.heading)


def _in_two_parts(proposal: Proposal, placed: Placed) -> Source:
    """A number of which the job's is the first part, written once for all its doors or on each row."""
    layout = proposal.layout
    first, last = layout.written(placed.after), layout.written(placed.heading)
    if is_as_above(layout, placed.after) and first not in proposal.fill_down:
        proposal.fill_down.append(first)
    proposal.why[folded(first)] = placed.why
    return Source(heading=first, joined=(last,), between=BETWEEN_PARTS)


def fill_crews_of_days(proposal: Proposal) -> None:
    """Fills the crew from above where it is blank only beside a day that is: the same crew on the same day."""
    columns, texts = proposal.columns[INSTALLS.name], proposal.layout.cells.texts
    crew, day = (columns[name].heading if name in columns else None for name in ("crew", "fitted_on"))
    if crew is None or crew in proposal.fill_down or day is None or day not in proposal.fill_down:
        return
    rows = list(zip(texts(folded(crew)), texts(folded(day)), strict=True))
    if any(not who for who, _ in rows) and all(who or not when for who, when in rows):
        proposal.fill_down.append(crew)


def fill_with_days(proposal: Proposal) -> None:
    """Fills what is blank in the very rows in which crew and day are filled from above: one block, one site.

    Where every row says its crew, or a line over it, a site goes down with the day alone.
    """
    columns, texts = proposal.columns[INSTALLS.name], proposal.layout.cells.texts
    day = columns["fitted_on"].heading if "fitted_on" in columns else None
    if day is None or day not in proposal.fill_down:
        return
    blanks = [not text for text in texts(folded(day))]
    crew = columns["crew"].heading if "crew" in columns else None
    whose = [not text for text in texts(folded(crew))] if crew is not None else []
    if sum(blanks) < _FEWEST_BLANKS or (any(whose) and (whose != blanks or crew not in proposal.fill_down)):
        return
    names = _GROUPED if any(whose) else PEOPLE
    for name, source in columns.items():
        heading = source.heading
        if name not in names or not heading or source.joined or heading in proposal.fill_down:
            continue
        if [not text for text in texts(folded(heading))] == blanks:
            proposal.fill_down.append(heading)


def take_words_of(layouts: list[Layout], proposal: Proposal) -> None:
    """Takes the firm's own words in the columns of closed words from all sheets that are headed alike."""
    for record, columns in proposal.columns.items() if len(layouts) > 1 else ():
        for name, source in columns.items():
            heading = folded(source.heading or "")
            is_closed = name != VALUE_COLUMNS.get(record) and record_named(record).column(name).kind in (WORD, WORDS)
            if not is_closed or source.prefix or heading not in proposal.layout.evidence:
                continue
            texts = frozenset().union(*(one.evidence[heading].texts for one in layouts if heading in one.evidence))
            evidence = replace(proposal.layout.evidence[heading], texts=texts)
            words = dict(words_under(record, name, heading, proposal.layout, evidence)) | dict(source.words)
            columns[name] = replace(source, words=tuple(words.items()))


def is_group(name: str, proposal: Proposal) -> bool:
    """Whether the column that names a door or callback is itself filled from above."""
    sources = [columns[name] for columns in proposal.columns.values() if name in columns]
    return any(source.heading in proposal.fill_down for source in sources)
