"""A heading given to a column of a record, and all that are."""

from dataclasses import dataclass

from pipeline.ingest.declared.mapping import LookUp

# Below this likeness a heading is not even named as a candidate; from this on a label says a column surely.
FAINT, LABEL_SURE = 0.35, 0.9


@dataclass(frozen=True)
class Placed:
    """A heading (folded) given to a column of a record, and why.

    is_above  a label above the header, as written; is_sheet: the name of the sheet
    is_line  the label of lines between the rows, or nothing where a name stands there alone
    place     of the heading, from the left
    said      the same text for all rows, which no cell of the sheet says
    after     the heading (folded) whose cell goes before it, where it tells of a number only its last part
    look_up   where it stands in another sheet; the heading is that by which it is found; unit: that it has there
    """

    heading: str
    record: str
    column: str
    sure: float
    why: str
    is_above: bool = False
    is_sheet: bool = False
    is_line: bool = False
    place: int = 0
    after: str = ""
    said: str = ""
    look_up: LookUp | None = None
    unit: str | None = None

    @property
    def is_column(self) -> bool:
        """Whether it is the heading of a column."""
        return not (self.is_above or self.is_sheet or self.is_line or self.said or self.look_up)


@dataclass(frozen=True)
class Assignment:
    """placed: by column; faint: headings that may be meant, the likeliest first."""

    placed: dict[str, Placed]
    faint: tuple[Placed, ...]


def headings_of(placed: dict[str, Placed]) -> dict[str, str]:
    """The headings (folded) of what columns of the sheet say, by column."""
    return {name: one.heading for name, one in placed.items() if one.is_column}
