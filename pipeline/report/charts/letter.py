"""The drawing of the letter: the eight steps of the work, and in each the cause that is worth most."""

import altair as alt

from pipeline.report.charts.causes import SPARED, effect_lines, pencil_of
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
    named = [_named(f"{n}  {step}", best[step], of_step[step]) for n, step in enumerate(steps, start=1)]
    # At a desk one line holds the step and its cause, so that the letter stays a letter.
    labels = [
        Label(name, behind, pencil) if is_narrow else Label(f"{name} · {behind}", "", pencil)
        for name, behind, pencil in named
    ]
    layout = RowLayout(tuple(labels), is_narrow, label_width=390)
    drawn = [(effect, effect.avoidable) for effect in best.values() if effect and effect.avoidable]
    ys = [y for effect, y in zip(best.values(), layout.lines, strict=True) if effect]
    board = layout.board(*linear_reach([interval for _, interval in drawn]), SPARED)
    if not drawn:
        return board.chart(layout.words(board))
    lines = dimension_lines(board, effect_lines(drawn, ys))
    return board.chart([*chain_line(board, 0, "none"), *lines, *layout.words(board)])


def _best(effects: list[Effect]) -> Effect | None:
    claimed = [effect for effect in effects if effect.is_claimed and effect.avoidable]
    return max(
        claimed, key=lambda effect: (effect.evidence == "strong", effect.avoidable_per_year or 0.0), default=None
    )


def _named(name: str, best: Effect | None, effects: list[Effect]) -> tuple[str, str, str]:
    if best is None:
        return name, step_summary(effects), GREY
    return name, f"{short(best.words, 32)} → {short(best.fault_words, 18)}", pencil_of(best)
