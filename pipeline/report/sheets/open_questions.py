"""The parts of the causes sheet about the whole: from which step to which fault, and what would answer what is open."""

from pipeline.report.charts.flow import flow_chart
from pipeline.report.charts.needed import needed_chart
from pipeline.report.drawing.draw import draw
from pipeline.report.rows.table_rows import Effect, RecordedShare
from pipeline.report.sheet import Block, Figure
from pipeline.report.words import flow, needed


def flow_figure(effects: list[Effect], recorded: list[RecordedShare]) -> list[Block]:
    """Step to fault; nothing where no cause is claimed."""
    claimed = [effect for effect in effects if effect.is_claimed and effect.role == "cause"]
    if not claimed:
        return []
    steps = list(dict.fromkeys(share.step for share in recorded))
    says, title = flow.says(claimed, {effect.fault for effect in effects}), "From the step of the work to the fault"
    drawing = draw(lambda is_narrow: flow_chart(steps, claimed, is_narrow), "flow", title, says)
    return [Figure("flow", says, flow.HOW, drawing, flow.do(claimed))]


def needed_figure(effects: list[Effect]) -> list[Block]:
    """Doors still needed; nothing where more doors would answer nothing."""
    open_pairs = needed.nearest(effects)
    if not open_pairs:
        return []
    shown = open_pairs[: needed.MOST_SHOWN]
    says, title = needed.says(open_pairs), "Doors on record and doors needed"
    drawing = draw(lambda is_narrow: needed_chart(shown, is_narrow), "needed", title, says)
    return [Figure("needed", says, needed.how(open_pairs), drawing, needed.do(open_pairs))]
