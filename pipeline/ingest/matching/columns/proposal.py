"""What a sheet is proposed to hold: which of its columns become which of which record, and what is in doubt."""

from dataclasses import dataclass, field

from pipeline.ingest.declared.mapping import Source, folded
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposed import Proposed


@dataclass
class Proposal:
    """What a sheet is proposed to hold. columns: of each record; each: its readings or checks; why: by heading.

    doubts   what could not be placed for certain: heading, why, and how it might be written
    is_form  one door a sheet; its headings are paths of labels; form_others: those without a place
    is_foot  a table at the foot of each form
    begins_with  the label that begins each of several forms in a sheet
    is_part  one of several tables in its sheet; is_across: a column for every row
    missing  sentences on records that the sheet almost holds
    words    by record, what the marks in its columns mean, and why
    leaf_headings  columns that say which leaf a row is
    draft    where no record can be made: the one that nearly can be; wanting: its columns that no heading is
    leave_out  a heading, and the cells under it whose rows are no records
    lengths  where the door's width and height stand, of which readings are taken at a share
    is_looked_into  nothing is made of the sheet itself, but lists of doors look something up in it
    calls    of callbacks side by side in the row of a door: the columns of each
    crewless  the headings (folded) of the facts of doors, by column, where nothing but their crew is wanting
    """

    layout: Layout
    columns: dict[str, dict[str, Source]] = field(default_factory=dict)
    each: dict[str, list[Proposed]] = field(default_factory=dict)
    words: dict[str, tuple[tuple[tuple[str, str], ...], str]] = field(default_factory=dict)
    items: dict[str, tuple[str, ...]] = field(default_factory=dict)
    why: dict[str, str] = field(default_factory=dict)
    doubts: list[tuple[str, str]] = field(default_factory=list)
    unsure: list[Proposed] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    is_form: bool = False
    is_foot: bool = False
    begins_with: str = ""
    is_part: bool = False
    is_across: bool = False
    form_others: list[str] = field(default_factory=list)
    fill_down: list[str] = field(default_factory=list)
    lengths: dict[str, Source] = field(default_factory=dict)
    draft: "Proposal | None" = None
    wanting: tuple[str, ...] = ()
    leaf_headings: set[str] = field(default_factory=set)
    leave_out: dict[str, list[str]] = field(default_factory=dict)
    crewless: dict[str, str] = field(default_factory=dict)
    calls: list[dict[str, Source]] = field(default_factory=list)
    is_looked_into: bool = False

    @property
    def placed(self) -> set[str]:
        """Every heading (folded) that has found its place."""
        named = [*self.columns.values(), *self.calls]
        sources = [text for columns in named for source in columns.values() for text in source.headings]
        entries = [
            text
            for each in self.each.values()
            for one in each
            for text in (one.each.heading, one.each.unit_heading, one.each.position_heading)
        ]
        items = [text for names in self.items.values() for text in names]
        return {folded(text) for text in [*sources, *entries, *items, *self.leave_out] if text}

    @property
    def n_headings(self) -> int:
        """Headings of the sheet, placed or not."""
        return len(self.placed & set(self.layout.evidence)) + len({name for name, _ in self.doubts}) + len(self.others)

    @property
    def others(self) -> list[str]:
        """Headings as written that have no place, and are not in doubt."""
        if self.is_form:
            return self.form_others
        doubtful = {heading.casefold() for heading, _ in self.doubts}
        heads = self.layout.heads
        return [text for text in heads.written if text and text.casefold() not in self.placed | doubtful]
