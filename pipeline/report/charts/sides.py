"""Drawings of the weak-steps sheet: which way each crew errs, and what its drop is made of."""

from typing import Any

import altair as alt

from pipeline.report.charts.cells import cell_lines, crew_names, datum_lines, foremost
from pipeline.report.charts.layout import Label, RowLayout, interval_line, linear_reach, nothing_to_draw
from pipeline.report.drawing.drawn import DESK, NARROW
from pipeline.report.drawing.marks import Board, Layers, chain_line, dimension_lines, note, row, words_at
from pipeline.report.drawing.pencils import GREY, INK
from pipeline.report.numbers import Interval, counted, number, one_precision
from pipeline.report.rows.watch_rows import UsualSide
from pipeline.report.watching import SideWords, side_words
from pipeline.report.words.sides import SPLIT

MOST_CREWS = 16
LEAST_REACH = 1.0  # mm


def sides_chart(sides: list[UsualSide], is_narrow: bool) -> alt.LayerChart:
    """Crews down, places across; in each cell the mean error with its sign, one scale for all cells."""
    drawn = [side for side in sides if side.average is not None]
    if not drawn:
        return nothing_to_draw("Too few doors with signed readings.", is_narrow)
    return _Sides(drawn, is_narrow).chart()


class _Sides:
    """A table of small dimension lines about nothing; on a phone its columns stand in two rows."""

    row_step, head = 20, 46

    def __init__(self, sides: list[UsualSide], is_narrow: bool) -> None:
        self.words: dict[str, SideWords] = side_words()
        self.places = [place for place in self.words if any(side.place == place for side in sides)]
        self.crews = _shown_crews(sides)
        self.sides = [side for side in sides if side.crew in self.crews and side.place in self.places]
        self.is_narrow = is_narrow
        width, self.left = (NARROW, 62) if is_narrow else (DESK, 96)
        self.across = min(len(self.places), 2 if is_narrow else 4)
        self.step = (width - self.left) / self.across
        ends = [abs(end) for side in self.sides if side.average for end in (side.average.low, side.average.high)]
        self.reach = max([LEAST_REACH, *ends])
        self.band = self.head + self.row_step * len(self.crews) + 8
        bands = -(-len(self.places) // self.across)
        self.board = Board(width, int(self.band * bands) + 18, 0, width, 0, width, "")

    def chart(self) -> alt.LayerChart:
        """The drawing."""
        return self.board.chart([*self._datums(), *self._cells(), *self._heads(), *self._names(), *self._scale()])

    def _x(self, place: str, value: float) -> float:
        half = 0.5 * self.step - (4 if self.is_narrow else 8)
        middle = self.left + (self.places.index(place) % self.across + 0.5) * self.step
        return middle + half * max(min(value / self.reach, 1.0), -1.0)

    def _top(self, place: str) -> float:
        return self.band * (self.places.index(place) // self.across)

    def _y(self, side: UsualSide) -> float:
        return self._top(side.place) + self.head + (self.crews.index(side.crew) + 0.5) * self.row_step

    def _datums(self) -> Layers:
        foot = self.band - self.head - 8
        rows = [
            {"x": self._x(place, 0), "y": self._top(place) + self.head - 4, "y2": self._top(place) + self.head + foot}
            for place in self.places
        ]
        return datum_lines(self.board, rows)

    def _cells(self) -> Layers:
        return cell_lines(self.board, [self._placed(side, side.average) for side in self.sides if side.average], 30)

    def _placed(self, side: UsualSide, average: Interval) -> dict[str, Any]:
        values = {"low": average.low, "high": average.high, "at": average.estimate}
        places = {name: self._x(side.place, value) for name, value in values.items()}
        is_told = bool(self.words[side.place].of(side.side or 0))
        return {**places, "y": self._y(side), "pencil": INK if is_told else GREY, "weight": 2.2 if is_told else 1}

    def _heads(self) -> Layers:
        layers: Layers = []
        for place in self.places:
            words, top = self.words[place], self._top(place)
            low, high = self._x(place, -self.reach), self._x(place, self.reach)
            layers += words_at(self.board, [row(top + 10, words.short)], self._x(place, 0), "center")
            layers += words_at(self.board, [note(top + 28, words.low)], low, "left", fontSize=11)
            layers += words_at(self.board, [note(top + 28, words.high)], high, "right", fontSize=11)
        return layers

    def _names(self) -> Layers:
        room = self.left - 10
        names = crew_names(self.crews, room, self.is_narrow)
        tops = sorted({self._top(place) for place in self.places})
        rows = [
            row(top + self.head + (line + 0.5) * self.row_step, name) for top in tops for line, name in enumerate(names)
        ]
        return words_at(self.board, rows, room, "right")

    def _scale(self) -> Layers:
        reach = number(self.reach, 1)
        words = f"each column: {reach} mm to either side of nothing"
        return words_at(self.board, [note(self.board.height - 8, words)], 0 if self.is_narrow else self.left)


def _shown_crews(sides: list[UsualSide]) -> list[str]:
    return foremost(((side.crew, bool(side.side), side.doors) for side in sides), MOST_CREWS)


def drop_chart(parts: dict[str, dict[str, UsualSide]], is_narrow: bool) -> alt.LayerChart:
    """By crew, how far leaves hang low by turning at their hinges (circle) and by racking (diamond), on average."""
    crews = _shown_crews([part for own in parts.values() for part in own.values()])
    drawn = [(parts[crew]["leaf_drop_rotation"], parts[crew]["leaf_drop_racking"]) for crew in crews]
    # in ink where the one is told to be the larger, as everywhere else
    pencils = [INK if parts[crew][SPLIT].side else GREY for crew in crews]
    averages = [part.average for pair in drawn for part in pair if part.average]
    if not averages:
        return nothing_to_draw("Too few doors with gaps over, under and beside a leaf.", is_narrow)
    labels = tuple(
        Label(turned.crew, f" · {counted(turned.doors, 'door')}", "", pencil)
        for (turned, _), pencil in zip(drawn, pencils, strict=True)
    )
    layout = RowLayout(labels, is_narrow, label_width=190, spacing=50, narrow=64)
    board = layout.board(*linear_reach(averages), "mm that the leaf hangs low, on average")
    digits, offsets = max(one_precision(averages), 1), (-12, 8) if is_narrow else (-9, 14)
    lines = [
        interval_line(part.average, y + below, digits, pencil, shape, is_filled)
        for pair, pencil, y in zip(drawn, pencils, layout.lines, strict=True)
        for part, below, shape, is_filled in zip(pair, offsets, ("circle", "diamond"), (True, False), strict=True)
        if part.average
    ]
    return board.chart([*chain_line(board, 0, "none"), *dimension_lines(board, lines), *layout.words(board)])
