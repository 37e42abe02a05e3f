"""The map of pairs: what the records can and cannot say, deviations down, faults across."""

import math

import altair as alt

from pipeline.report.charts.layout import nothing_to_draw
from pipeline.report.drawing.drawn import DESK, NARROW
from pipeline.report.drawing.lettering import fitted, width
from pipeline.report.drawing.marks import Board, Layer, Layers, data, row, rules, words_at
from pipeline.report.drawing.pencils import BLUE, GREY, INK, LINE
from pipeline.report.rows.table_rows import Effect

ANGLE, HEAD = 305, 140  # degrees and most pixels of the name over a column


def pairs_chart(effects: list[Effect], is_narrow: bool) -> alt.LayerChart:
    """Deviations down, in step order; faults across, the most frequent first; only what has an answer somewhere."""
    answered = [effect for effect in effects if effect.is_answered]
    if not answered:
        return nothing_to_draw("No pair can be answered yet.", is_narrow)
    return _Map(answered, is_narrow).chart()


class _Map:
    """Places are pixels."""

    top = 112

    def __init__(self, answered: list[Effect], is_narrow: bool) -> None:
        self.answered = answered
        self.deviations = {effect.deviation: effect.words for effect in answered}
        self.faults = _by_frequency(answered)
        across = NARROW if is_narrow else DESK
        self.is_narrow, self.row_step = is_narrow, 36 if is_narrow else 20
        lean = self._lean()
        self.left = max(across - lean - 20 * len(self.faults), 4) if is_narrow else 290
        self.step = min((across - self.left - lean) / len(self.faults), 40)
        self.board = Board(across, self.top + self.row_step * len(self.deviations), 0, across, 0, across, "")

    def chart(self) -> alt.LayerChart:
        """The drawing."""
        return self.board.chart([*self._lines(), *self._signs(), *self._names(), *self._heads()])

    def _lean(self) -> float:
        """Pixels that the heads lean out beyond the last column, were the columns a finger apart."""
        names = [fitted(words, HEAD) for words in self.faults.values()]
        places = range(len(names) - 1, -1, -1)
        return max(
            math.cos(math.radians(360 - ANGLE)) * width(name) - 20 * at for name, at in zip(names, places, strict=True)
        )

    def _x(self, fault: str) -> float:
        return self.left + (list(self.faults).index(fault) + 0.5) * self.step

    def _y(self, deviation: str) -> float:
        share = 0.72 if self.is_narrow else 0.5
        return self.top + (list(self.deviations).index(deviation) + share) * self.row_step

    def _lines(self) -> Layers:
        feet = [self.top + (index + 1) * self.row_step for index in range(len(self.deviations))]
        return rules(self.board, feet, LINE)

    def _names(self) -> Layers:
        if self.is_narrow:  # a name stands above its signs
            above = [
                row(self._y(name) - 15, fitted(words, self.board.width)) for name, words in self.deviations.items()
            ]
            return words_at(self.board, above, 0)
        rows = [row(self._y(name), fitted(words, self.left - 8)) for name, words in self.deviations.items()]
        return words_at(self.board, rows, self.left - 8, "right")

    def _heads(self) -> Layers:
        return [
            layer
            for fault, words in self.faults.items()
            for layer in words_at(self.board, [row(self.top - 6, fitted(words, HEAD))], self._x(fault), angle=ANGLE)
        ]

    def _signs(self) -> Layers:
        strong = [effect for effect in self.answered if effect.is_claimed and effect.evidence == "strong"]
        hints = [effect for effect in self.answered if effect.is_claimed and effect.evidence == "suggestive"]
        others = [effect for effect in self.answered if not effect.is_claimed]
        signs = [
            Layer(self._places(strong)).mark_point(shape="circle", size=80, stroke=INK, fill=INK),
            Layer(self._places(hints)).mark_point(shape="diamond", size=70, stroke=BLUE),
            Layer(self._places(others)).mark_point(shape="stroke", size=40, stroke=GREY),
        ]
        return [sign.encode(x=self.board.across("x"), y=self.board.y()) for sign in signs]

    def _places(self, effects: list[Effect]) -> alt.InlineData:
        return data([{"x": self._x(effect.fault), "y": self._y(effect.deviation)} for effect in effects])


def _by_frequency(answered: list[Effect]) -> dict[str, str]:
    events: dict[tuple[str, str], int] = {}
    for effect in answered:
        key = (effect.fault, effect.fault_words)
        events[key] = max(events.get(key, 0), effect.events)
    return dict(sorted(events, key=lambda key: -events[key]))
