"""Sheet 1, the letter to the firm: one page, what to do next, the answers, what is not known."""

from pipeline.report.charts.letter import steps_chart
from pipeline.report.drawing.draw import draw
from pipeline.report.reading import Results
from pipeline.report.rows.table_rows import Effect, Firm, RecordedShare
from pipeline.report.sheet import SHEETS, Block, Figure, Item, Listing, Sheet, TitleBlock, named
from pipeline.report.sheets.answers import answers_of, led_to
from pipeline.report.sheets.changes import changed
from pipeline.report.words import explore, letter
from pipeline.report.words.common import ASSOCIATION, DEFER, SITE_WORK

NAME = SHEETS[0]
TABLES = "What each column of the results is, in which unit, and which of your records it comes from."
HOW_STEPS = (
    "The steps in the order of the work. In each, the cause worth most, in callbacks spared a year with its 95 % "
    "interval: a dot for strong evidence, a blue diamond for a hint. Where nothing can be said nothing is drawn."
)


def letter_sheet(results: Results, firm: Firm, title_block: TitleBlock) -> Sheet:
    """Everything on the letter."""
    effects, all_rates, recorded = results.effects(), results.rates(), results.recorded()
    account, linked = results.account(), results.tally("linked")
    acts = letter.next_acts(firm, effects, results.weak_steps(), results.crew_outs(), recorded)
    unknown = letter.not_known(effects, account, linked, recorded)
    blocks: tuple[Block, ...] = (
        *changed(results.changes()),
        Listing(
            "next",
            "What to do next",
            tuple(Item(a.why, a.lead, a.sheet, f"Why: sheet {named(a.sheet).number}") for a in acts),
            is_numbered=True,
        ),
        Listing("answers", "What the records say", (*answers_of(results, firm), *led_to(_offered(firm)))),
        _steps(effects, recorded),
        Listing("unknown", "What is not known yet", tuple(map(Item, unknown))),
    )
    lead = (letter.what_the_records_hold(firm, all_rates),)
    cautions = (ASSOCIATION, DEFER, SITE_WORK)
    return Sheet(NAME, title_block, letter.headline(firm, effects, all_rates, linked), lead, blocks, cautions)


def _offered(firm: Firm) -> dict[str, str]:
    """Sheets that answer what their reader asks of them."""
    return {"explore.html": explore.LETTER if firm.has_callback_log else explore.LETTER_OF_STEPS, "tables.html": TABLES}


def _steps(effects: list[Effect], recorded: list[RecordedShare]) -> Figure:
    order = list(dict.fromkeys(share.step for share in recorded))
    says, title = letter.steps_says(effects), "Callbacks spared a year, step by step"
    return Figure(
        "steps", says, HOW_STEPS, draw(lambda is_narrow: steps_chart(order, effects, is_narrow), "steps", title, says)
    )
