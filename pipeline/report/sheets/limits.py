"""The part of the causes sheet about limits: how the doors stand, and what another edition would say."""

from pipeline.report.charts.causes import limits_chart
from pipeline.report.drawing.draw import draw
from pipeline.report.rows.table_rows import LimitCount
from pipeline.report.sheet import Block, Figure, Item, Listing
from pipeline.report.words import limits as words

HOW = (
    "Of the doors with readings: within the limit (empty), where the instrument cannot tell (ochre hatching), and "
    "out (red hatching, with their share and its 95 % interval). Out is only said where the reading's own uncertainty "
    "allows it. Doors without readings are not counted."
)
DO = "Where the ochre part is long, a better instrument or a repeated reading settles more than a new limit."


def limit_blocks(limits: list[LimitCount]) -> list[Block]:
    """The figure of the limits, and the sentences about those for comparison."""
    read = [limit for limit in limits if limit.decided]
    says = words.limits_says(read)
    if not read:
        return [Listing("limits", "How doors stand against limits", (Item(f"{says}."),))]
    title = "Doors within and out of each limit"
    figure = Figure(
        "limits", says, HOW, draw(lambda is_narrow: limits_chart(read, is_narrow), "limits", title, says), DO
    )
    compared = words.other_editions(read)
    if not compared:
        return [figure]
    how = (
        "Published limits differ threefold. Only the ones in use decide; which those are, the firm's fitback.toml says."
    )
    return [figure, Listing("editions", "What another published limit would say", tuple(map(Item, compared)), how)]
