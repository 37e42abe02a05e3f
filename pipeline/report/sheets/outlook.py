"""The part of the owner's sheet about the months to come."""

from datetime import date

from pipeline.report.charts.outlook import ahead_chart, back_chart
from pipeline.report.downloads import download
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import count, day, month, number, percent
from pipeline.report.reading import Results
from pipeline.report.rows.outlook_rows import Cohort, LookBack, MonthAhead, PaperMonth
from pipeline.report.rows.table_rows import Firm
from pipeline.report.sheet import Block, Figure, Passage, Table
from pipeline.report.words import outlook as words

AHEAD_COLUMNS = ("month", "callbacks (95 %)", "from doors out", "from planned doors", "cost (95 %)")
BACK_COLUMNS = ("said on", "on paper then", "callbacks foretold (95 %)", "on paper now", "came", "inside")
PAPER_COLUMNS = ("month", "on paper", "arrived", "with paper on its way (95 %)")
COHORT_COLUMNS = ("handed over from", "doors", "callbacks so far", "in the coming twelve months (95 %)")
MOST_PAPER = 12


def outlook_blocks(results: Results, firm: Firm) -> list[Block]:
    """The section; one sentence where there is too little, nothing where no door is out."""
    ahead, paper = results.outlook(), results.late_paper()
    if not ahead:
        return []
    if ahead[-1].counted is None:
        return [Passage("ahead", words.TOO_FEW, (words.WHAT_IS_NEEDED,))]
    looks, cohorts, plan = results.look_backs(), results.development(), results.plan()
    says = words.says(ahead, firm.currency)
    drawing = draw(
        lambda is_narrow: ahead_chart(paper, ahead, is_narrow), "ahead", "Callbacks a month, seen and to come", says
    )
    beside = [*words.paragraphs(ahead, plan, paper), words.second_opinion(cohorts, ahead[-1], plan)]
    if not looks:
        beside.append(words.back_missing())
    return [
        Figure("ahead", says, words.HOW_AHEAD, drawing, words.do(ahead, firm.currency)),
        Passage("ahead-why", "What this outlook stands on", tuple(beside)),
        *_back(looks),
    ]


def _back(looks: list[LookBack]) -> list[Block]:
    if not looks:
        return []
    says = words.back_says(looks)
    drawing = draw(lambda is_narrow: back_chart(looks, is_narrow), "back", "What was foretold and what came", says)
    return [Figure("back", says, words.back_how(looks), drawing, words.back_do(looks))]


def outlook_tables(results: Results, firm: Firm) -> list[Block]:
    """The tables behind it, as far as there are any."""
    ahead, looks, cohorts = results.outlook(), results.look_backs(), results.development()
    last = list(reversed(results.late_paper()[-MOST_PAPER:]))
    tables = (
        (
            "outlook",
            "The table behind: the months to come",
            AHEAD_COLUMNS,
            [_ahead(row, firm) for row in ahead],
            {2, 3},
            words.HOW_MONTHS,
        ),
        (
            "outlook_backtest",
            "The table behind: looking back",
            BACK_COLUMNS,
            [_look(row) for row in looks],
            {1, 3, 4},
            "",
        ),
        ("late_paper", "The table behind: paper on its way", PAPER_COLUMNS, [_paper(row) for row in last], {1, 2}, ""),
        (
            "development",
            "The table behind: the chain ladder",
            COHORT_COLUMNS,
            [_cohort(row) for row in cohorts],
            {1, 2},
            "",
        ),
    )
    return [
        Table(f"{name}-rows", says, columns, tuple(cells), how, frozenset(flush), download(name, results.table(name)))
        for name, says, columns, cells, flush, how in tables
        if cells
    ]


def _ahead(row: MonthAhead, firm: Firm) -> tuple[str, ...]:
    return (
        "all twelve" if row.month == "total" else month(row.month),
        row.counted.words() if row.counted else "too few",
        words.part(row.from_doors_out, row.counted) if row.counted else "too few",
        words.part(row.from_planned, row.counted) if row.counted else "too few",
        words.money(row.money, firm.currency) if row.money else "not known",
    )


def _look(row: LookBack) -> tuple[str, ...]:
    return (
        day(row.made_on),
        count(row.callbacks_then),
        row.foretold.words(),
        count(row.seen),
        number(row.came),
        "yes" if row.is_inside else "no",
    )


def _paper(row: PaperMonth) -> tuple[str, ...]:
    whole = row.whole.words() if row.whole and row.whole.high > row.reported else count(row.reported)
    if not row.is_corrected or row.whole is None:
        whole = "not known"
    running = "" if row.is_over else " (still running)"
    return month(row.month) + running, count(row.reported), percent(row.arrived_share), whole


def _cohort(row: Cohort) -> tuple[str, ...]:
    name = "all" if row.cohort == "total" else day(date.fromisoformat(row.cohort))
    return name, count(row.doors), number(row.callbacks), row.year.words() if row.year else number(row.to_come)
