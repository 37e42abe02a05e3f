"""Sheet 4, rates and cost: crew by crew, month by month; for the owner."""

from dataclasses import replace

from pipeline.report.charts.months import months_chart
from pipeline.report.charts.rates import MOST_CREWS, fair_chart, rate_chart, tally_chart
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import count, counted, day, percent
from pipeline.report.reading import Results
from pipeline.report.rows.table_rows import CrewRate, Firm, Month, Tally
from pipeline.report.sheet import SHEETS, Block, Figure, Passage, Sheet, TitleBlock
from pipeline.report.sheets.crew_steps import parts_of_crews, parts_table
from pipeline.report.sheets.fair_crews import places_and_mix
from pipeline.report.sheets.outlook import outlook_blocks, outlook_tables
from pipeline.report.sheets.rate_tables import crews_table, months_table
from pipeline.report.sheets.signals import signal_blocks
from pipeline.report.sheets.worth import worth_figure
from pipeline.report.words import outlook as outlook_words
from pipeline.report.words import rates as words
from pipeline.report.words import worth, years
from pipeline.report.words.common import is_watched_enough, who_was_counted, whole_firm

NAME = SHEETS[3]
RESPONSIBILITIES = {"building": "building movement", "none": "nobody: nothing was wrong", "unknown": "not known"}
KINDS = {
    "episode": "opens an episode",
    "repeat": "a further visit in one episode",
    "pre_handover": "a snag before handover",
    "outside": "outside the time watched",
    "no door": "linked to no door",
}
HOW_RATES = (
    "Crews from the most to the least watched: chance makes the lines longer towards the foot, like a funnel. The "
    "chain line is the firm's average. Ink: clearly apart from the firm; blue diamond: perhaps; grey: not told apart. "
    "What decides is the comparison on the same doors, in the next figure, not whether a line here clears the firm's."
)
DO_RATES = "Read along the chain line, not down the list: a crew far out on a long line has few doors, not bad work."
HOW_FAIR = (
    "The same crews against what the firm as a whole would have had on the very same doors, drawn towards 1 where "
    "doors are few. Clearly apart: the count leaves the 99.8 % funnel, which allows for the usual differences "
    "between crews, and this interval leaves 1. Perhaps: only the interval does."
)
DO_MONTHS = "Judge a change only on months that are complete, and on several of them."
COST_RULE = (
    "A visit costs what the records say, else its hours at the firm's rate, else the firm's usual cost of a callback."
)
CAUTIONS = (
    "A rate is never callbacks over doors: doors are watched for different times, so it is the time watched that "
    "counts.",
    "A fair ratio compares like with like only in what is recorded of the doors: size, product, exposure and the rest.",
    "What stands beside a crew here is told of its doors, not of people: what made them so the records do not say.",
)


def owner_sheet(results: Results, firm: Firm, title_block: TitleBlock) -> Sheet:
    """Everything on the owner's sheet."""
    rates, months, effects = results.rates(), results.months(), results.effects()
    if firm.doors and not firm.has_callback_log:
        what = Passage("add", "What to add", (words.WHAT_TO_ADD,))
        return Sheet(NAME, title_block, words.NO_LOG, (who_was_counted(firm, rates),), (what,), CAUTIONS)
    whole = whole_firm(rates)
    firm_rate = whole.rate if whole else None
    blocks = (
        *worth_figure(effects, firm),
        *outlook_blocks(results, firm),
        *signal_blocks(results, firm),
        *_what_they_were(results.tally("kinds")),
        *_crew_figures(rates, firm_rate),
        *(parts_of_crews(rates, results.crew_steps()) if is_watched_enough(rates) else ()),
        *(places_and_mix(rates) if is_watched_enough(rates) else ()),
        *(_trend(months, firm_rate) if is_watched_enough(rates) else ()),
        *_who_answers(results.tally("responsibilities")),
        _what_cost_is(rates, firm),
        crews_table(rates, firm, results),
        *parts_table(rates),
        *months_table(months, firm, results),
        *outlook_tables(results, firm),
    )
    ahead, rate = outlook_words.headline(results.outlook(), firm.currency), words.headline(rates)
    year, cost = years.says(results.year_change()), f"{words.cost_says(rates, firm)}."
    before = outlook_words.before(results.outlook(), results.late_paper())
    lead = (
        before, f"{rate} {year}" if ahead else year, f"{cost} {words.crews_apart(rates)}".strip(),
        who_was_counted(firm, rates),
    )  # fmt: skip
    do = worth.worth_most(effects, firm.currency)
    return Sheet(NAME, title_block, ahead or rate, tuple(filter(None, lead)), blocks, CAUTIONS, do=do)


def _what_counts(firm: Firm) -> str:
    since = f" The callback log counts as complete from {day(firm.callbacks_from)}." if firm.callbacks_from else ""
    return (
        "Counted are callbacks that open an episode and that crews answer for: responsibility installation or not "
        f"known, and something found wrong.{since}"
    )


def _crew_figures(rates: list[CrewRate], firm_rate: float | None) -> list[Block]:
    crews = words.crews(rates)
    if len(crews) < 2 or firm_rate is None or not is_watched_enough(rates):  # of one crew the headline has the rate
        return []
    says, fair = words.funnel_says(rates), words.fair_says(rates)
    more = (
        f" Drawn are {MOST_CREWS} of {count(len(crews))} crews; the table has all." if len(crews) > MOST_CREWS else ""
    )
    title = "Callbacks per 100 door-years, crew by crew"
    raw = draw(lambda is_narrow: rate_chart(crews, firm_rate, is_narrow), "rates", title, says)
    title = "Callbacks against the firm on the same doors"
    drawing = draw(lambda is_narrow: fair_chart(crews, is_narrow), "fair", title, fair)
    return [
        Figure("rates", says, HOW_RATES + more, raw, DO_RATES),
        Figure("fair", fair, HOW_FAIR, drawing, words.fair_do(rates)),
    ]


def _trend(months: list[Month], firm_rate: float | None) -> list[Block]:
    if not months:
        return []
    says, title = words.months_says(months), "Callbacks per 100 door-years by month"
    drawing = draw(lambda is_narrow: months_chart(months, firm_rate, is_narrow), "months", title, says)
    return [Figure("months", says, words.months_how(months), drawing, DO_MONTHS)]


def _what_cost_is(rates: list[CrewRate], firm: Firm) -> Passage:
    paragraphs = (COST_RULE, words.three_counts(rates, firm), _what_counts(firm))
    return Passage("cost", "What counts as cost, and as a callback", tuple(filter(None, paragraphs)))


def _who_answers(responsibilities: list[Tally]) -> list[Block]:
    if not responsibilities:
        return []
    says = words.others_say(responsibilities)
    named = [replace(tally, name=RESPONSIBILITIES.get(tally.name, tally.name)) for tally in responsibilities]
    answered = tuple(RESPONSIBILITIES.get(name, name) for name in words.ANSWERED)
    drawing = draw(
        lambda is_narrow: tally_chart(named, answered, "callbacks reported", is_narrow),
        "answers",
        "Callbacks by responsibility",
        says,
    )
    how = (
        "Callbacks reported, by who answers for them; filled is what crews answer for. Not known counts with the "
        "crews, so that a gap in the records never looks like good work."
    )
    unknown = _share(responsibilities, "unknown")
    do = f"Write down who answers for it: {percent(unknown)} say nothing." if unknown > 0.05 else ""
    return [Figure("answers", says, how, drawing, do)]


def _what_they_were(kinds: list[Tally]) -> list[Block]:
    if not kinds:
        return []
    total = sum(kind.rows for kind in kinds)
    says = f"{percent(_share(kinds, 'episode'))} of {counted(total, 'callback')} open an episode"
    named = [replace(kind, name=KINDS.get(kind.name, kind.name)) for kind in kinds]
    drawing = draw(
        lambda is_narrow: tally_chart(named, (KINDS["episode"],), "callbacks reported", is_narrow),
        "kinds",
        "Callbacks by what they were",
        says,
    )
    how = "Visits for one door and fault within the firm's repeat time are one episode; only its first callback counts."
    return [Figure("kinds", says, how, drawing)]


def _share(tallies: list[Tally], name: str) -> float:
    total = sum(tally.rows for tally in tallies)
    return sum(tally.rows for tally in tallies if tally.name == name) / total if total else 0.0
