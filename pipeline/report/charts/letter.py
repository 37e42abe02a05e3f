"""The drawing of the letter: the eight steps of the work, and in each the cause that is worth most."""

import altair as alt

from pipeline.report.charts.causes import SPARED, effect_line, pencil_of
from pipeline.report.charts.layout import Label, RowLayout, linear_reach
from pipeline.report.marks import chain_line, dimension_lines
from pipeline.report.numbers import short
from pipeline.report.rows import Effect
from pipeline.report.theme import GREY
from pipeline.report.words.causes import causes
from pipeline.report.words.letter import step_summary


def steps_chart(steps: list[str], effects: list[Effect], is_narrow: bool) -> alt.LayerChart:
    """A row a step, in the order of the work: callbacks a year that its first cause accounts for, or words."""
    of_step = {step: [effect for effect in causes(effects) if effect.step == step] for step in steps}
    best = {step: _best(of_step[step]) for step in steps}
    labels = tuple(_label(f"{n}  {step}", best[step], of_step[step]) for n, step in enumerate(steps, start=1))
    layout = RowLayout(labels, is_narrow)
    placed = zip(best.values(), layout.lines, strict=True)
    drawn = [(effect, effect.avoidable, y) for effect, y in placed if effect and effect.avoidable]
    board = layout.board(*linear_reach([interval for _, interval, _ in drawn]), SPARED)
    lines = dimension_lines(board, [effect_line(*line) for line in drawn])
    return board.chart([*chain_line(board, 0, "none"), *lines, *layout.words(board)])


def _best(effects: list[Effect]) -> Effect | None:
    claimed = [effect for effect in effects if effect.is_claimed and effect.avoidable]
    return max(
        claimed, key=lambda effect: (effect.evidence == "strong", effect.avoidable_per_year or 0.0), default=None
    )


def _label(name: str, best: Effect | None, effects: list[Effect]) -> Label:
    if best is None:
        return Label(name, step_summary(effects), GREY)
    return Label(name, f"{short(best.words, 34)} → {short(best.fault_words, 18)}", pencil_of(best))
