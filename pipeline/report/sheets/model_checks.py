"""The part of the methods sheet that checks the model itself: a challenger on a later period."""

from pipeline.report.charts.model_checks import order_chart
from pipeline.report.check_rows import ModelCheck
from pipeline.report.downloads import download
from pipeline.report.drawing import draw
from pipeline.report.numbers import Interval, as_name, count
from pipeline.report.reading import Results
from pipeline.report.sheet import Block, Figure, Passage, Table
from pipeline.report.words import model_checks as words

COLUMNS = (
    "fault",
    "callbacks before",
    "later",
    "pairs ranked rightly, plain (95 %)",
    "by the trees (95 %)",
    "trees less plain, points (95 %)",
    "doors differ, seen over foretold, plain (95 %)",
    "by the trees (95 %)",
    "came over foretold, plain (95 %)",
    "by the trees (95 %)",
    "verdict on the plain model",
)
HOW_TABLE = (
    "Pairs ranked rightly: concordance; 50 % is chance, 100 % a perfect order. Doors differ: 1 is as foretold, below 1 "
    "less. Something is missed where what the trees add tells of later callbacks beyond chance (false alarms held at "
    "one in twenty over all rows) and makes up a twentieth of all that is told."
)


def check_blocks(results: Results) -> list[Block]:
    """The section; one passage where there are too few callbacks."""
    checks = results.model_checks()
    says = words.says(checks)
    if not words.judged(checks):
        return [Passage("checks", says, (words.needed(checks),))]
    drawing = draw(lambda is_narrow: order_chart(checks, is_narrow), "checks", "Plain model and challenger", says)
    return [
        Figure("checks", says, words.HOW, drawing, words.do(checks)),
        Passage("checks-why", "How large differences and level came out", tuple(words.beside(checks))),
    ]


def check_table(results: Results) -> list[Block]:
    """The table behind it; nothing where no fault can be looked at."""
    checks = results.model_checks()
    if not checks:
        return []
    frame = download("model_checks", results.table("model_checks"))
    says = "The table behind: plain model and challenger"
    return [Table("checks-table", says, COLUMNS, tuple(map(_cells, checks)), HOW_TABLE, frozenset({1, 2}), frame)]


def _cells(check: ModelCheck) -> tuple[str, ...]:
    return (
        as_name(check.name),
        count(check.before),
        count(check.came),
        _share(check.order_plain),
        _share(check.order_challenger),
        check.order_gain.words(100) if check.order_gain else "",
        *(
            each.words() if each else ""
            for each in (
                check.apart_plain,
                check.apart_challenger,
                check.level_of_plain,
                check.level_of_challenger,
            )
        ),
        words.verdict(check),
    )


def _share(order: Interval | None) -> str:
    return order.words(100, " %") if order else ""
