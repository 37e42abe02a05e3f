"""The months to come: sentences for the owner."""

from pipeline.report.numbers import Interval, count, counted, day, in_currency, month, number, percent
from pipeline.report.rows.outlook_rows import Cohort, LookBack, MonthAhead, PaperMonth, Plan
from pipeline.report.words.common import few_in_words

MONTHS_A_YEAR = 12
THOUSAND = 20_000.0  # from here on money is told to the thousand
TOO_FEW = "There is too little to foretell the next twelve months"
WHAT_IS_NEEDED = (
    "An outlook needs 20 callbacks on known doors and six months of callback log. Until then any figure would be a "
    "guess."
)
HOW_AHEAD = (
    "Callbacks reported a month, whoever answers for them. Ink: months seen, as on paper. Ochre: what they come to "
    "with the paper on its way. Blue: months to come, each with its 95 % interval; a single month may well lie at an "
    "end of its line, and all twelve together are surer than the months."
)
HOW_BACK = (
    "Lines: what this outlook would have said on that day for the twelve months after it, from the paper there was "
    "then, given the doors that were really handed over afterwards. Red diamond: what came. About 19 of 20 should lie "
    "on their line. The years overlap, so they are not so many separate trials."
)
HOW_MONTHS = (
    "Each number is as fine as its interval supports: twelve months together are told in coarser steps than one, so "
    "the rounded months need not add up to the last line."
)
KNOWS_NOT = (
    "It goes on from what the records show: it knows no new product, no new crew and no changed rule. An improvement "
    "that has just begun is in it only as far as callbacks show it already."
)


def money(interval: Interval, currency: str | None) -> str:
    """`GBP 94,000 (78,000 to 112,000)`, no finer than its interval supports."""
    return in_currency(interval.words(digits=_digits(interval)), currency)


def _digits(interval: Interval) -> int:
    return interval.scaled(0.001).decimals() - 3 if interval.estimate >= THOUSAND else interval.decimals()


def part(value: float | None, whole: Interval) -> str:
    """A part of a foretold count, no finer than the count it is a part of; a small part is not told as 0."""
    shown = number(value or 0.0, min(whole.decimals(), 0))
    return shown if shown != "0" else number(value or 0.0)


def says(ahead: list[MonthAhead], currency: str | None) -> str:
    """The answer: how many, and what they cost."""
    total = ahead[-1]
    if total.counted is None:
        return TOO_FEW
    span = f"from {month(ahead[0].month)} to {month(ahead[-2].month)}"
    cost = f", costing {money(total.money, currency)}" if total.money else ""
    return f"{total.counted.words()} callbacks are to be expected in the twelve months {span}{cost}"


def paragraphs(ahead: list[MonthAhead], plan: Plan, paper: list[PaperMonth]) -> list[str]:
    """Where they come from, what the cost stands on, what late paper does, what the outlook cannot know."""
    return [
        sentence for sentence in (_sources(ahead[-1], plan), _cost(ahead[-1]), _paper(paper), KNOWS_NOT) if sentence
    ]


def _sources(total: MonthAhead, plan: Plan) -> str:
    ends = ""
    if plan.log_ends_with_warranty and plan.warranty_months:
        ends = f" Doors count to the end of their {number(plan.warranty_months)} months of warranty, as the log does."
    if not plan.planned_doors_per_month:
        return (
            f"All of them are from the doors already out. Doors still to be fitted are not counted: write "
            f"planned_doors_per_month into fitback.toml to count them.{ends}"
        )
    planned = f"{counted(plan.planned_doors_per_month, 'planned door')} a month"
    out = f"About {_part(total.from_doors_out, total)} of them from the doors already out"
    return f"{out}, {_part(total.from_planned, total)} from {planned}.{ends}"


def _part(value: float | None, total: MonthAhead) -> str:
    return part(value, total.counted) if total.counted else number(value or 0.0)


def before(ahead: list[MonthAhead], paper: list[PaperMonth]) -> str:
    """The twelve months before beside what comes of doors already out, so that a rise is seen for what it is."""
    total = ahead[-1] if ahead else None
    if total is None or total.counted is None or len(paper) < MONTHS_A_YEAR:
        return ""
    came = counted(sum(entry.reported for entry in paper[-MONTHS_A_YEAR:]), "callback")
    coming = f"about {_part(total.from_doors_out, total)} of those to come are from doors already out"
    planned = f", {_part(total.from_planned, total)} from doors still planned" if total.from_planned else ""
    return f"The twelve months before brought {came} that are on paper so far; {coming}{planned}."


def _cost(total: MonthAhead) -> str:
    if total.money is None:
        return (
            "What they will cost cannot be told, since the cost of no callback is known: write labour_rate or "
            "callback_cost into fitback.toml."
        )
    return (
        f"Cost is what {counted(total.cost_known, 'callback')} with a known cost came to, at the prices of their time."
    )


def _paper(paper: list[PaperMonth]) -> str:
    if not paper:
        return ""
    last = paper[-1]
    if not last.is_corrected:
        return (
            "The day on which callbacks are written down (logged_on) is not recorded, so the last months are not "
            "corrected for paper still on its way; if there is any, the outlook is too low."
        )
    complete = f"Callbacks are complete to {day(last.complete_to)}: 95 % of the paper of that day has arrived."
    return f"{complete} {_missing(paper)}"


def _missing(paper: list[PaperMonth]) -> str:
    open_months = [entry for entry in paper if entry.whole and entry.whole.high > entry.reported]
    if not open_months:
        return "Nothing to speak of is still on its way."
    last = open_months[-1]
    if last.whole is None:
        return ""
    return (
        f"Of {month(last.month)}, {counted(last.reported, 'callback')} are on paper; with what is on its way it comes "
        f"to {last.whole.words()}."
    )


def do(ahead: list[MonthAhead], currency: str | None) -> str:
    """What follows."""
    total = ahead[-1]
    if total.counted is None:
        return ""
    high = max((entry for entry in ahead[:-1]), key=lambda entry: entry.callbacks_high or 0.0)
    visits = f"Plan service visits for {number(total.counted.estimate / MONTHS_A_YEAR)} callbacks a month"
    reserve = f", and set aside {_upper(total.money, currency)} to be safe" if total.money else ""
    return f"{visits}, and for up to {count(high.callbacks_high)} in a single one{reserve}."


def headline(ahead: list[MonthAhead], currency: str | None) -> str:
    """What the next year will bring and cost, in a sentence; empty where nothing can be foretold."""
    total = ahead[-1] if ahead else None
    if total is None or total.counted is None:
        return ""
    cost = f", {money(total.money, currency)}" if total.money else ""
    return f"Next twelve months: {total.counted.words()} callbacks{cost}."


def _upper(interval: Interval, currency: str | None) -> str:
    return in_currency(number(interval.high, _digits(interval)), currency)


def back_says(looks: list[LookBack]) -> str:
    """How this outlook would have done."""
    inside = sum(look.is_inside for look in looks)
    of = f"{few_in_words(inside)} of {few_in_words(len(looks))}" if inside < len(looks) else _all(len(looks))
    return f"Looking back from {of} earlier days, what came lay inside the interval" + (
        f"; from {few_in_words(len(looks) - inside)} it did not" if inside < len(looks) else ""
    )


def _all(number_of: int) -> str:
    return {1: "the one", 2: "both"}.get(number_of, f"all {few_in_words(number_of)}")


def back_how(looks: list[LookBack]) -> str:
    """How to read it, and on how much the earliest stood."""
    first, last = looks[0], looks[-1]
    return f"{HOW_BACK} On the earliest day {count(first.callbacks_then)} callbacks were on paper, on the latest " + (
        f"{count(last.callbacks_then)}."
    )


def back_do(looks: list[LookBack]) -> str:
    """What follows from it."""
    ratios = [look.came / look.callbacks for look in looks if look.callbacks > 0]
    if any(not look.is_inside for look in looks):
        return (
            "One line in twenty misses by chance alone; where it was not chance, something changed that the records "
            "before did not show: ask what it was before planning on this."
        )
    if len(ratios) > 2 and (all(ratio < 0.95 for ratio in ratios) or all(ratio > 1.05 for ratio in ratios)):
        side, half = ("fewer", "lower") if ratios[0] < 1 else ("more", "upper")
        return f"Each time {side} came than the middle of the line: plan with the {half} half of the interval."
    return "Plan with the whole interval, not with its middle."


def back_missing() -> str:
    """Said where the log is too short to look back."""
    return (
        "How this would have done cannot be shown yet: that needs a year of callbacks after a day on which there was "
        "already enough to foretell it."
    )


def second_opinion(cohorts: list[Cohort], total: MonthAhead, plan: Plan) -> str:
    """The chain ladder in a sentence, set against the outlook for the same doors."""
    whole = cohorts[-1].year if cohorts else None
    if whole is None:
        return "A chain ladder, the second opinion, finds too few callbacks or too short a log."
    doors = f"for the {count(cohorts[-1].doors)} doors handed over in the {_periods(cohorts)} it can see"
    said = f"A chain ladder, a second opinion that knows ages only, gives {whole.words()} {doors}"
    if not plan.doors_out or total.from_doors_out is None:
        return f"{said}."
    share = cohorts[-1].doors / plan.doors_out
    there = total.from_doors_out * share
    verdict = "they agree" if whole.low <= there <= whole.high else "they disagree, so trust neither to its last tenth"
    which = "all doors out" if share > 0.995 else f"that part ({percent(share)}) of the doors out"
    return f"{said}; the outlook for {which} would be {part(there, whole)}: {verdict}."


def _periods(cohorts: list[Cohort]) -> str:
    unit = "quarters" if cohorts[-1].months_a_period == 3 else "half-years"
    return f"{few_in_words(len(cohorts) - 1)} {unit}"
