"""Which of the firm's records each result is made of: results down, records across."""

from collections.abc import Sequence

import altair as alt

from pipeline.dictionary import Entry
from pipeline.report.drawing.drawn import DESK, NARROW
from pipeline.report.drawing.lettering import fitted
from pipeline.report.drawing.marks import Board, Layer, Layers, data, row, rules, words_at
from pipeline.report.drawing.pencils import INK, LINE

TOP, AT_DESK, ON_PHONE = 76, 17, 36


def lineage_chart(entries: Sequence[Entry], records: Sequence[str], is_narrow: bool) -> alt.LayerChart:
    """A dot where a result is made of a record, directly or through other tables. Places are pixels."""
    return _Lineage(entries, records, is_narrow).chart()


class _Lineage:
    """Where names and dots stand."""

    def __init__(self, entries: Sequence[Entry], records: Sequence[str], is_narrow: bool) -> None:
        self.entries, self.records, self.is_narrow = entries, records, is_narrow
        width = NARROW if is_narrow else DESK
        self.row_step = ON_PHONE if is_narrow else AT_DESK
        self.left = 20 if is_narrow else 220
        self.step = min((width - self.left - 40) / len(records), 60)
        self.board = Board(width, TOP + self.row_step * len(entries), 0, width, 0, width, "")

    def chart(self) -> alt.LayerChart:
        """The drawing."""
        return self.board.chart([*self._lines(), self._dots(), *self._names(), *self._heads()])

    def _x(self, record: str) -> float:
        return self.left + (self.records.index(record) + 0.5) * self.step

    def _y(self, number: int) -> float:
        return TOP + (number + (0.72 if self.is_narrow else 0.5)) * self.row_step

    def _lines(self) -> Layers:
        return rules(self.board, [TOP + (number + 1) * self.row_step for number in range(len(self.entries))], LINE)

    def _dots(self) -> Layer:
        places = [
            {"x": self._x(record), "y": self._y(number)}
            for number, entry in enumerate(self.entries)
            for record in entry.from_records
        ]
        dots = Layer(data(places)).mark_point(shape="circle", size=60, stroke=INK, fill=INK)
        return dots.encode(x=self.board.across("x"), y=self.board.y())

    def _names(self) -> Layers:
        if self.is_narrow:  # a name stands above its dots
            above = [row(self._y(n) - 15, entry.name) for n, entry in enumerate(self.entries)]
            return words_at(self.board, above, 0)
        rows = [row(self._y(n), fitted(entry.name, self.left - 12)) for n, entry in enumerate(self.entries)]
        return words_at(self.board, rows, self.left - 12, "right")

    def _heads(self) -> Layers:
        return [
            layer
            for record in self.records
            for layer in words_at(self.board, [row(TOP - 6, record)], self._x(record), angle=305)
        ]
