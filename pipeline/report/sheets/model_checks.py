"""The part of the methods sheet that checks the model itself: a challenger on a later period."""

from pipeline.report.charts.model_checks import order_chart
from pipeline.report.downloads import download
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import Interval, as_name, count
from pipeline.report.reading import Results
from pipeline.report.rows.check_rows import ModelCheck
from pipeline.report.sheet import Block, Figure, Passage, Table
from pipeline.report.words import model_checks as words

COLUMNS = (
    "fault",
    "foretold by",
    "callbacks before",
    "later",
    "pairs ranked rightly (95 %)",
    "points more (95 %)",
    "doors differ (95 %)",
    "came over foretold (95 %)",
    "verdict on the plain model",
)
HOW_TABLE = (
    "Pairs ranked rightly: concordance; 50 % is chance, 100 % a perfect order. Points more: than the plain model. "
    "Doors differ: as much as foretold is 1, below 1 less. Something is missed where what the trees add tells of later "
    "callbacks beyond chance (false alarms held at one in twenty over all rows) and makes up a twentieth of all that "
    "is told."
)


def check_blocks(checks: list[ModelCheck]) -> list[Block]:
    """The section; one passage where there are too few callbacks."""
    says = words.says(checks)
    if not words.judged(checks):
        return [Passage("checks", says, (words.do(checks),))]
    drawing = draw(lambda is_narrow: order_chart(checks, is_narrow), "checks", "Plain model and challenger", says)
    return [
        Figure("checks", says, words.HOW, drawing, words.do(checks)),
        Passage("checks-why", "How large differences and level came out", tuple(words.beside(checks))),
    ]


def check_table(checks: list[ModelCheck], results: Results) -> list[Block]:
    """The table behind it; nothing where no fault can be looked at."""
    if not checks:
        return []
    frame = download("model_checks", results.table("model_checks"))
    says = "The table behind: plain model and challenger"
    rows = tuple(row for check in checks for row in _rows(check))
    return [Table("checks-table", says, COLUMNS, rows, HOW_TABLE, frozenset({2, 3}), frame)]


def _rows(check: ModelCheck) -> list[tuple[str, ...]]:
    """Plain model and trees below one another; one row where neither could be judged."""
    counts = (count(check.before), count(check.came))
    name, verdict = as_name(check.name), words.verdict(check)
    if not check.order_plain:
        return [(name, "", *counts, "", "", "", "", verdict)]
    plain = (_share(check.order_plain), "", _times(check.apart_plain), _times(check.level_of_plain))
    trees = (
        _share(check.order_challenger),
        check.order_gain.words(100) if check.order_gain else "",
        _times(check.apart_challenger),
        _times(check.level_of_challenger),
    )
    return [(name, "plain model", *counts, *plain, verdict), (name, "trees", *counts, *trees, "")]


def _times(ratio: Interval | None) -> str:
    return ratio.words() if ratio else ""


def _share(order: Interval | None) -> str:
    return order.words(100, " %") if order else ""
