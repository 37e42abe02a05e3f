"""The drawing of the letter: the eight steps of the work, and in each the cause that is worth most."""

import altair as alt

from pipeline.report.charts.causes import SPARED, effect_lines, pencil_of
from pipeline.report.charts.layout import Label, RowLayout, linear_reach
from pipeline.report.drawing.lettering import fitted
from pipeline.report.drawing.marks import chain_line, dimension_lines
from pipeline.report.drawing.pencils import GREY
from pipeline.report.rows.table_rows import Effect
from pipeline.report.words.causes import causes, is_hardly_any
from pipeline.report.words.common import pair
from pipeline.report.words.letter import step_summary


def steps_chart(steps: list[str], effects: list[Effect], is_narrow: bool) -> alt.LayerChart:
    """A row a step, in the order of the work: callbacks a year that its first cause accounts for, or words."""
    of_step = {step: [effect for effect in causes(effects) if effect.step == step] for step in steps}
    best = {step: _best(of_step[step]) for step in steps}
    labels = [_label(f"{n}  {step}", best[step], of_step[step], is_narrow) for n, step in enumerate(steps, start=1)]
    layout = RowLayout(tuple(labels), is_narrow, label_width=440, spacing=19)
    drawn = [(effect, effect.avoidable) for effect in best.values() if effect and effect.avoidable]
    ys = [y for effect, y in zip(best.values(), layout.lines, strict=True) if effect]
    board = layout.board(*linear_reach([interval for _, interval in drawn]), SPARED)
    if not drawn:
        return board.chart(layout.words(board))
    lines = dimension_lines(board, effect_lines(drawn, ys))
    return board.chart([*chain_line(board, 0, "none"), *lines, *layout.words(board)])


def _best(effects: list[Effect]) -> Effect | None:
    claimed = [effect for effect in effects if effect.is_claimed and effect.avoidable and not is_hardly_any(effect)]
    return max(
        claimed, key=lambda effect: (effect.evidence == "strong", effect.avoidable_per_year or 0.0), default=None
    )


def _label(name: str, best: Effect | None, effects: list[Effect], is_narrow: bool) -> Label:
    # At a desk one line holds the step and its cause, so that the letter stays a letter.
    if best is None:
        said = step_summary(effects)
        return Label(name, "", said, GREY) if is_narrow else Label(f"{name} · {said}", "", "", GREY)
    if is_narrow:
        return Label(name, "", pair(best), pencil_of(best))
    return Label(f"{name} · {best.words}", f" → {fitted(best.fault_words, 150)}", "", pencil_of(best))
