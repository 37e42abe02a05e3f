"""The flow from the steps of the work to the faults: a line for every cause that is claimed."""

from collections.abc import Sequence

import altair as alt

from pipeline.report.charts.layout import nothing_to_draw
from pipeline.report.drawing.drawn import DESK, NARROW
from pipeline.report.drawing.lettering import fitted
from pipeline.report.drawing.marks import Board, Layer, Layers, data, note, row, words_at
from pipeline.report.drawing.pencils import BLUE, BROKEN, INK
from pipeline.report.rows.table_rows import Effect

ROW = 30  # pixels from name to name
APART = 5  # pixels between the lines of two causes from one step to one fault


def flow_chart(steps: Sequence[str], effects: list[Effect], is_narrow: bool) -> alt.LayerChart:
    """steps: all of the work, in its order; effects: what is claimed. Faults stand where their lines cross least."""
    if not effects:
        return nothing_to_draw("No cause is claimed yet.", is_narrow)
    return _Flow(steps, effects, is_narrow).chart()


class _Flow:
    """Places are pixels."""

    def __init__(self, steps: Sequence[str], effects: list[Effect], is_narrow: bool) -> None:
        self.effects, self.steps = effects, list(steps)
        width = NARROW if is_narrow else DESK
        self.left, self.right = (88, 184) if is_narrow else (150, 430)
        self.faults = self._in_order()
        self.height = ROW * max(len(self.steps), len(self.faults)) + 8
        self.board = Board(width, self.height, 0, width, 0, width, "")

    def chart(self) -> alt.LayerChart:
        """The drawing."""
        return self.board.chart([*self._lines(), *self._names()])

    def _in_order(self) -> dict[str, str]:
        found: dict[str, list[int]] = {}
        for effect in self.effects:
            found.setdefault(effect.fault, []).append(effect.step_order)
        words = {effect.fault: effect.fault_words for effect in self.effects}
        order = sorted(found, key=lambda fault: (sum(found[fault]) / len(found[fault]), fault))
        return {fault: words[fault] for fault in order}

    def _y(self, names: Sequence[str], name: str) -> float:
        # the shorter of the two columns stands in the middle of the longer
        start = (self.height - ROW * len(names)) / 2
        return start + ROW * (list(names).index(name) + 0.5)

    def _lines(self) -> Layers:
        between: dict[tuple[str, str], list[Effect]] = {}
        for effect in self.effects:
            between.setdefault((effect.step, effect.fault), []).append(effect)
        rows: dict[str, list[dict[str, float]]] = {"strong": [], "suggestive": []}
        for (step, fault), causes in between.items():
            for place, effect in enumerate(causes):
                aside = APART * (place - (len(causes) - 1) / 2)
                start, end = self._y(self.steps, step) + aside, self._y(list(self.faults), fault) + aside
                rows[effect.evidence].append({"x": self.left, "x2": self.right, "y": start, "y2": end})
        looks: tuple[tuple[str, str, list[int]], ...] = (("strong", INK, []), ("suggestive", BLUE, BROKEN))
        return [
            Layer(data(rows[evidence]))
            .mark_rule(color=pencil, strokeDash=dash, strokeWidth=1.4)
            .encode(x=self.board.across("x"), x2=alt.X2("x2"), y=self.board.y(), y2=alt.Y2("y2"))
            for evidence, pencil, dash in looks
            if rows[evidence]
        ]

    def _names(self) -> Layers:
        begun = {effect.step for effect in self.effects}
        steps = [
            (row if step in begun else note)(self._y(self.steps, step), fitted(step, self.left - 10))
            for step in self.steps
        ]
        room = self.board.width - self.right - 10
        faults = [row(self._y(list(self.faults), name), fitted(words, room)) for name, words in self.faults.items()]
        return [
            *words_at(self.board, steps, self.left - 10, "right"),
            *words_at(self.board, faults, self.right + 10, "left"),
        ]
