"""What a [[sheet]] table says: which cells of a firm's own sheets become which columns of which record."""

from dataclasses import dataclass, field
from fnmatch import fnmatch

from pipeline.ingest.declared.totals import TOTALS, TOTALS_ALONE
from pipeline.ingest.records import CHECKS, READINGS, TRAINING

# Columns whose cells hold what was read, one record row each, in a sheet with a column for every reading or check.
VALUE_COLUMNS = {READINGS.name: "value", CHECKS.name: "outcome", TRAINING.name: "trained_on"}
# Files of a firm's own that a mapping can read.
MAPPED_FORMS = (".csv", ".xlsx", ".jsonl")
LOCK_MARK = "~$"  # begins the name of a file that is there as long as a workbook is open elsewhere
# Each reading says where along a member one of several stands: a cell may list as many as there are.
PLACES_ALONG = frozenset({"fixing", "packer"})
SHEET_NAME, ROW_NUMBER, LINES = "sheet", "row", "line"


@dataclass(frozen=True)
class LookUp:
    """A cell of another sheet: under `column` there, in the row whose `there` says what `here` says in this sheet.

    file   a pattern, the file of the other sheet; empty: the file of this one
    sheet  a pattern, the name of the other sheet; header_rows: its rows of headings
    """

    column: str
    here: str
    there: str
    file: str = ""
    sheet: str = "*"
    header_rows: int = 1


@dataclass(frozen=True)
class Source:
    """Where a column's cells come from: a heading, one text for all, the sheet's name, or a label above the header.

    unit    the unit in which lengths and masses of the column stand; unit_heading: the column that says it row by row
    joined  further headings whose cells follow that of the first, with `between` between them
    words   the firm's words and what they are here
    part    of a cell that holds two numbers, such as 4000 x 2100, or a name over an address: the first or the second;
            0: the cell as it is
    marks   headings, and the word that a mark under each says
    is_turned  its numbers have the other sign than their measure has here
    prefix  put before a cell that is a bare number: leaf_ makes 2 into leaf_2
    from_row  a number made of what the row says, the same for ever as long as it says so
    look_up  where its cells stand in another sheet
    from_lines  lines of text between the rows, which hold for the rows under them; after: the label they begin with
    """

    heading: str | None = None
    always: str | None = None
    unit: str | None = None
    words: tuple[tuple[str, str], ...] = ()
    prefix: str = ""
    sheet_name: bool = False
    above: str | None = None
    unit_heading: str | None = None
    joined: tuple[str, ...] = ()
    between: str = " "
    from_row: bool = False
    part: int = 0
    marks: tuple[tuple[str, str], ...] = ()
    from_lines: bool = False
    after: str = ""
    is_turned: bool = False
    look_up: LookUp | None = None

    @property
    def headings(self) -> tuple[str, ...]:
        """Every heading that it reads."""
        by = self.look_up.here if self.look_up else None
        return tuple(name for name in (self.heading, by, *self.joined, self.unit_heading, *dict(self.marks)) if name)


@dataclass(frozen=True)
class Each:
    """One reading or check of every row. heading: its column; item: the text that names it in a column of items.

    fixed   the record's columns that are the same for all of them
    share   where along the member, 0 to 1 of the length that stands in `of`, else in the record's `share_of`
    unit_heading, position_heading  columns that say the unit, or where along the member, row by row
    is_turned  its numbers have the other sign than their measure has here
    bare_unit  of cells that name no unit, where others do; none: such cells are set aside
    part  which of the numbers of a cell that holds several, from 1; 0: the cell as it is
    low  the end, left or right, that it reads of cells which name the one that is low, such as 3 L
    """

    heading: str | None
    item: str | None
    fixed: tuple[tuple[str, str], ...]
    share: float | None = None
    of: Source | None = None
    unit_heading: str | None = None
    position_heading: str | None = None
    is_turned: bool = False
    bare_unit: str | None = None
    part: int = 0
    low: str = ""


@dataclass(frozen=True)
class RecordMap:
    """How one record is made from a sheet. share_of: the column of the whole length.

    items  the column of items, or the columns that name an item together: what was read, and where
    words  of checks in columns: the firm's marks and what they are here
    groups  of callbacks side by side in the row of a door: the columns of each, beside those that the row says of all
    """

    record: str
    columns: tuple[tuple[str, Source], ...]
    each: tuple[Each, ...] = ()
    items: tuple[str, ...] = ()
    share_of: Source | None = None
    words: tuple[tuple[str, str], ...] = ()
    groups: tuple[tuple[tuple[str, Source], ...], ...] = ()

    @property
    def headings(self) -> tuple[str, ...]:
        """Every heading that must be there, once."""
        lengths = [self.share_of, *(one.of for one in self.each)]
        in_groups = [source for group in self.groups for _, source in group]
        sources = [*(source for _, source in self.columns), *in_groups, *(one for one in lengths if one is not None)]
        named: list[str | None] = [name for source in sources for name in source.headings]
        named += [name for one in self.each for name in (one.heading, one.unit_heading, one.position_heading)]
        named += self.items
        return tuple(dict.fromkeys(name for name in named if name is not None))

    def parts_of(self, heading: str) -> int:
        """How many numbers the cells of a column hold, as the entries read them."""
        return max((one.part for one in self.each if one.heading == heading), default=0)


@dataclass(frozen=True)
class SheetMap:
    """One [[sheet]] table. file, sheet: patterns; header_rows: rows of headings, one above the other.

    form   one door a sheet: cells stand beside their labels
    at_foot  a table at the foot of each form
    begins_with  the label (folded) that begins each of several forms below one another in a sheet
    across  a column for every row: headings stand in the first column, one below the other
    is_part  one of several tables of its sheet, which blank rows or columns set apart
    ignore  headings (folded) that a person has left out; not_placed: those that no place was found for
    leave_out  a heading, and the cells under it whose rows are no records: kinds of entries in a log
    spelt  headings as the mapping writes them, by the folded form they are compared in
    """

    file: str
    records: tuple[RecordMap, ...]
    sheet: str = "*"
    form: bool = False
    at_foot: bool = False
    begins_with: str = ""
    across: bool = False
    is_part: bool = False
    header_rows: int = 1
    fill_down: tuple[str, ...] = ()
    skip: tuple[str, ...] = TOTALS
    leave_out: tuple[tuple[str, tuple[str, ...]], ...] = ()
    ignore: tuple[str, ...] = field(default=(), compare=False)
    not_placed: tuple[str, ...] = field(default=(), compare=False)
    spelt: tuple[tuple[str, str], ...] = field(default=(), compare=False, repr=False)

    @property
    def headings(self) -> tuple[str, ...]:
        """Every heading that must be there, once."""
        named = [name for one in self.records for name in one.headings]
        return tuple(dict.fromkeys([*named, *dict(self.leave_out)]))

    @property
    def known(self) -> frozenset[str]:
        """Every heading that it speaks of, read or not."""
        return frozenset((*self.headings, *self.ignore, *self.not_placed))

    @property
    def skip_alone(self) -> tuple[str, ...]:
        """What else names a row of totals, where nothing but numbers follows it; none where the table says its own."""
        return TOTALS_ALONE if self.skip == TOTALS else ()

    def is_of(self, file_name: str) -> bool:
        """Whether a file of that name is read by this table."""
        return _matches(file_name, self.file)

    def has_sheet(self, name: str | None) -> bool:
        """Whether a sheet of that name is; a CSV file has no name and always is."""
        return name is None or _matches(name, self.sheet)

    @property
    def look_ups(self) -> tuple[LookUp, ...]:
        """What it looks up in other sheets."""
        sources = [source for one in self.records for of in (one.columns, *one.groups) for _, source in of]
        sources += [one for each in self.records for one in (each.share_of, *(line.of for line in each.each)) if one]
        return tuple(dict.fromkeys(source.look_up for source in sources if source.look_up))

    def map_of(self, record: str) -> RecordMap | None:
        """How the record is made; None where it is not."""
        return next((one for one in self.records if one.record == record), None)


def _matches(name: str, pattern: str) -> bool:
    return fnmatch(name.casefold().strip(), pattern.casefold().strip())


def folded(heading: str) -> str:
    """A heading without what does not count: case, line breaks and repeated blanks."""
    return " ".join(heading.split()).casefold()
