"""How the columns of one sheet are written, as far as single cells leave it open."""

from dataclasses import dataclass, field

from pipeline.ingest.texts.day_orders import DayOrder
from pipeline.ingest.texts.hours_written import HoursManner
from pipeline.ingest.texts.marks import POINT, Mark


@dataclass(frozen=True)
class Manners:
    """By column, its decimal mark and its order of day and month. Where nothing is said a number has a decimal point.

    units       by column, the unit its heading gives; empty where the heading leaves it open
    currencies  by column of amounts, the signs of currency in its cells
    hours       how the visits' hours are written
    in_or_out   measures of which the cells show that in and out are ways they go
    year        the one that the sheet's title or name says of its days
    turned      keys of the rows whose number has the other sign, as the mapping of their column says
    """

    marks: dict[str, Mark] = field(default_factory=dict)
    orders: dict[str, DayOrder] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    currencies: dict[str, frozenset[str]] = field(default_factory=dict)
    hours: HoursManner = field(default_factory=HoursManner)
    in_or_out: frozenset[str] = frozenset()
    turned: frozenset[int] = frozenset()
    year: int | None = None

    def mark(self, name: str) -> Mark:
        """The decimal mark of a column."""
        return self.marks.get(name, POINT)

    def order(self, name: str) -> DayOrder:
        """The order of day and month of a column."""
        return self.orders.get(name, DayOrder())
