"""The part of the owner's sheet about what acts are worth: a figure in money, or why there is none."""

from pipeline.report.charts.worth import worth_chart
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import count
from pipeline.report.rows.table_rows import Effect, Firm
from pipeline.report.sheet import Figure
from pipeline.report.words import worth as words

MOST = 6


def worth_figure(effects: list[Effect], firm: Firm) -> list[Figure]:
    """The figure; nothing where no cause is shown whose cost is known."""
    ranked = words.priced(effects)
    if not ranked:
        return []
    says = words.says(ranked, firm.currency)
    more = f" Drawn are the first {count(MOST)} of {count(len(ranked))}." if len(ranked) > MOST else ""
    title = "What each act could spare a year"
    drawing = draw(lambda is_narrow: worth_chart(ranked[:MOST], firm.currency, is_narrow), "worth", title, says)
    how = f"{words.HOW}{more} {words.cost_of_one(ranked[:MOST], firm.currency)}"
    return [Figure("worth", says, how, drawing, words.DO)]
