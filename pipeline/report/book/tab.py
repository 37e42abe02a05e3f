"""What a sheet of the workbook is made of: its words, the rows it takes from the results, and its columns."""

from dataclasses import dataclass

TEXT, LONG, WHOLE, NUMBER, ONE_DECIMAL, SHARE, MONEY, DAY, FLAG = (
    "text", "long", "whole", "number", "one decimal", "share", "money", "day", "flag",
)  # fmt: skip
WIDTHS = {TEXT: 17, LONG: 54, WHOLE: 13, NUMBER: 13, ONE_DECIMAL: 13, SHARE: 13, MONEY: 13, DAY: 12, FLAG: 10}
# `_)` leaves the room of a bracket, so that a number does not touch the words in the next column
FORMATS = {
    WHOLE: "#,##0_)", NUMBER: "0.00_)", ONE_DECIMAL: "#,##0.0_)", SHARE: "0%_)", MONEY: "#,##0_)", DAY: "yyyy-mm-dd",
}  # fmt: skip
MOST_ROWS = 5_000  # of one sheet: what people read; the file beside it has all


@dataclass(frozen=True)
class Column:
    """One column. heading: in plain words; name: the table's own; form: one of the words above."""

    heading: str
    name: str
    form: str = TEXT


@dataclass(frozen=True)
class Tab:
    """One sheet of the workbook.

    name    on its tab, unique in the workbook
    table   the table of the same rows beside the pages, tables/<table>.csv
    says    what a row is, and in which order the rows stand, in a sentence
    how     how to read it
    source  SQL of what it takes its columns from: a table, or a query in parentheses
    where   SQL of the rows shown; others is what the rest is, in words that follow a count
    order   SQL
    frozen  how many columns stay in sight
    """

    name: str
    table: str
    says: str
    how: str
    source: str
    columns: tuple[Column, ...]
    order: str
    where: str = "true"
    others: str = ""
    frozen: int = 1

    @property
    def query(self) -> str:
        """SQL of the rows shown, with the columns in their order."""
        names = ", ".join(f'"{column.name}"' for column in self.columns)
        return f"SELECT {names} FROM {self.source} AS shown WHERE {self.where} ORDER BY {self.order}"


def with_interval(heading: str, name: str, low: str, high: str, form: str = NUMBER) -> tuple[Column, ...]:
    """A value and the ends of its 95 % interval, in three columns."""
    return (Column(heading, name, form), Column("95 % from", low, form), Column("95 % to", high, form))
