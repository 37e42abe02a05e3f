"""The part of the causes sheet that counts callbacks by what stands first in them."""

from pipeline.report.charts.first_causes import first_causes_chart
from pipeline.report.downloads import download
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import as_name, count, counted, moneys
from pipeline.report.reading import Results
from pipeline.report.rows.first_cause_rows import FirstCause
from pipeline.report.rows.table_rows import Effect, Firm
from pipeline.report.sheet import Block, Figure, Table
from pipeline.report.words import first_causes as words

MOST_DRAWN = 12
COLUMNS = (
    "cause",
    "step",
    "fault",
    "callbacks in which it is first",
    "share of them (95 %)",
    "part of all callbacks (95 %)",
    "known cost of that part",
)


def first_cause_figure(found: list[FirstCause], effects: list[Effect]) -> list[Block]:
    """The figure; nothing where no callback counts, or no cause enters."""
    causes = [row for row in found if row.is_cause]
    if not causes:
        return []
    shown = [*causes[:MOST_DRAWN], *(row for row in found if not row.is_cause)]
    more = f"Drawn are {count(MOST_DRAWN)} of {counted(len(causes), 'cause')}; the table has all."
    parts = (
        words.HOW, words.unexplained(found), words.why_orders_differ(found, effects),
        more if len(causes) > MOST_DRAWN else "",
    )  # fmt: skip
    says, title = words.says(found), "In how many callbacks each cause stands first"
    drawing = draw(lambda is_narrow: first_causes_chart(shown, is_narrow), "first", title, says)
    return [Figure("first", says, " ".join(filter(None, parts)), drawing, words.do(found, effects))]


def first_cause_table(found: list[FirstCause], firm: Firm, results: Results) -> list[Block]:
    """The table behind the figure."""
    if not any(row.is_cause for row in found):
        return []
    says = f"The table behind: first causes of {counted(found[0].callbacks, 'callback')}"
    costs = moneys([row.cost for row in found], firm.currency)
    rows = tuple(_cells(row, cost) for row, cost in zip(found, costs, strict=True))
    saved = download("first_causes", results.table("first_causes"))
    dearest = words.by_cost(found, firm.currency)
    return [Table("first-causes", says, COLUMNS, rows, dearest, frozenset({3, 6}), saved)]


def _cells(row: FirstCause, cost: str) -> tuple[str, ...]:
    return (
        words.name(row),
        row.step or "",
        as_name(row.fault_words) if row.is_cause else "",
        count(row.first),
        row.firsts.words(100, " %") if row.firsts else "",
        row.part.words(100, " %") if row.part else "",
        cost,
    )
